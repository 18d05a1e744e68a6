# SPDX-License-Identifier: GPL-3.0-or-later
# Everything builds under clang too, where warnings are errors as well.
. tests/cli/tap.sh

command -v clang >/dev/null || skip_all "clang is not installed"
grep -q '__asan_' "$BUILD_DIR/src/libbitterend.a" && skip_all "done in the build without sanitizers"
case $BUILD_DIR in
  */clang) skip_all "this is the clang build" ;;
esac

# Not the folder of `make CC=clang`: warnings need no optimizing.
build=$BUILD_DIR/clang-warnings
configure() {
  [ -f "$build/build.ninja" ] || CC=clang meson setup -Doptimization=0 -Ddebug=false "$build"
}
check "clang is configured" configure
check "clang has no complaint" ninja -k 0 -C "$build"

done_testing
