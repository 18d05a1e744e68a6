# SPDX-License-Identifier: GPL-3.0-or-later
# Every name in the library starts with be_, and tools/exported-names finds one that does not.
. tests/cli/tap.sh

check "the library gives only be_ names" tools/exported-names "$BUILD_DIR/src/libbitterend.a"

compile() {
  printf '%s\n' "$1" >"$work/a.c"
  rm -f "$work/lib.a"
  ${CC:-cc} -c "$work/a.c" -o "$work/a.o" && ar rc "$work/lib.a" "$work/a.o"
}

compile 'int be_seven(void); int be_seven(void) { return 7; } static int eight = 8; int *be_p = &eight;'
check "hidden names may be anything" tools/exported-names "$work/lib.a"
compile 'int be_seven = 7; int eight(void); int eight(void) { return 8; }'
check "a stray function is refused" refuse tools/exported-names "$work/lib.a"
check "and named" grep -q "a.o.* gives the name eight" "$work/said"
compile 'int be_seven = 7, eight_ = 8;'
check "a stray variable is refused" refuse tools/exported-names "$work/lib.a"
check "a missing library is refused" refuse tools/exported-names "$work/nothing.a"

done_testing
