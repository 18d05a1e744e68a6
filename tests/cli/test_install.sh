# SPDX-License-Identifier: GPL-3.0-or-later
# What is installed is complete, and a stranger's program can be built with it and run.
. tests/cli/tap.sh

install() {
  DESTDIR=$work/root meson install -C "$BUILD_DIR" --no-rebuild
}
check "everything is put in place" install

# The folder of pkg-config files differs from system to system.
pc=$(find "$work/root" -name bitterend.pc)
prefix=$work/root$(sed -n 's/^prefix=//p' "$pc")

expected="
bin/bitterend
include/bitterend/bitterend.h
include/bitterend/app/app.h
include/bitterend/base/base.h
include/bitterend/book/book.h
include/bitterend/book/handling.h
include/bitterend/book/preview.h
include/bitterend/book/tables.h
include/bitterend/chart/chart.h
include/bitterend/film/film.h
include/bitterend/knot/crossing/crossing.h
include/bitterend/knot/curve/curve.h
include/bitterend/knot/diagram/diagram.h
include/bitterend/knot/invariant/invariant.h
include/bitterend/knot/knot.h
include/bitterend/knot/layout/layout.h
include/bitterend/knot/measure/measure.h
include/bitterend/knot/picture/picture.h
include/bitterend/knot/points/points.h
include/bitterend/knot/solid/solid.h
include/bitterend/knot/tie/tie.h
include/bitterend/press/press.h
include/bitterend/rig/calibration/calibration.h
include/bitterend/rig/file/file.h
include/bitterend/rig/frame/frame.h
include/bitterend/rig/line/line.h
include/bitterend/rig/reader/reader.h
include/bitterend/rig/rig.h
include/bitterend/rig/simulated/simulated.h
include/bitterend/stats/benches/benches.h
include/bitterend/stats/censored/censored.h
include/bitterend/stats/compare/compare.h
include/bitterend/stats/mixed/mixed.h
include/bitterend/stats/sample/sample.h
include/bitterend/stats/standing/standing.h
include/bitterend/stats/stats.h
include/bitterend/trace/snap/snap.h
include/bitterend/trace/trace.h
include/bitterend/units/units.h
libdir/bitterend/libbitterend-film.so
libdir/libbitterend.a
libdir/pkgconfig/bitterend.pc
share/bash-completion/completions/bitterend
share/man/man1/bitterend.1
"
list() {
  libdir=$(dirname "$(dirname "$pc")")
  echo "$expected" | sed '/^$/d' | sort >"$work/expected"
  find "$work/root" -type f | sed "s,^$libdir/,libdir/,; s,^$prefix/,," | sort >"$work/found"
  diff "$work/expected" "$work/found"
}
check "these files and no others" list

# Each header stands by itself.
flags() {
  PKG_CONFIG_PATH=$(dirname "$pc") pkg-config --define-variable=prefix="$prefix" "$@" bitterend
}
alone() {
  for header in "$prefix"/include/bitterend/*.h "$prefix"/include/bitterend/*/*.h; do
    echo "#include \"$header\"" >"$work/alone.c"
    cc -std=c17 -Wall -Wextra -Wpedantic -Werror $(flags --cflags) -fsyntax-only "$work/alone.c" ||
      return
  done
}
check "each header compiles by itself" alone

cat >"$work/stranger.c" <<'C'
#include <bitterend/bitterend.h>
#include <stdio.h>
int main(void)
{
  struct be_quantity load;
  struct be_err err;
  if (be_quantity_parse("17,5 lb", 7, BE_FORCE, NULL, ',', &load, &err) == BE_OK)
    printf("%.3f N\n", load.value);
  return 0;
}
C
sanitize=
if grep -q __asan_ "$prefix/bin/bitterend"; then sanitize=-fsanitize=address,undefined; fi
build() {
  cc -std=c17 -Wall -Wextra -Werror "$work/stranger.c" -o "$work/stranger" $sanitize \
    $(flags --cflags --libs)
}
# 17.5 lb is 17.5 * 4.4482216152605 N.
says() {
  [ "$("$work/stranger")" = "77.844 N" ]
}
check "a program is built with it" build
check "the program runs" says

# complete WORD...: what bash offers for the last word of that command line.
complete() {
  bash -c '. "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _bitterend
    printf "%s\n" "${COMPREPLY[@]}"' - "$prefix/share/bash-completion/completions/bitterend" "$@"
}
# The program's own list of commands is the one that counts.
"$prefix/bin/bitterend" --help | sed -n 's/^  \([a-z][a-z]*\)  .*/\1/p' >"$work/commands"
in_step() {
  [ -s "$work/commands" ] && { cat "$work/commands"; echo "--help"; } >"$work/expected" &&
    complete bitterend "" | diff "$work/expected" - || return
  while read -r command; do
    grep -q "^\.BI* $command\b" "$prefix/share/man/man1/bitterend.1" || return
  done <"$work/commands"
}
offers() {
  complete "$prefix/bin/bitterend" demo "$1" | grep -x -e "$2"
}
if command -v bash >/dev/null; then
  check "completion and manual name every command" in_step
  check "a command completes its own options" offers --on --once
else
  skip "completion" "bash is not installed"
fi

done_testing
