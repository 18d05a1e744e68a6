# SPDX-License-Identifier: GPL-3.0-or-later
# The rooms keep to the plan, and tools/floorplan finds every kind of fault planted in a bad tree.
. tests/cli/tap.sh

spdx="/* SPDX-License-Identifier: GPL-3.0-or-later */"
mkdir -p "$work/src/trace/text" "$work/src/book" "$work/src/attic" "$work/tests/trace"

# file NAME LINE...: writes a file of the planted tree, with its SPDX line.
file() {
  name=$1
  shift
  printf '%s\n' "$spdx" "$@" >"$work/$name"
}

# lines COUNT TEXT
lines() {
  awk -v count="$1" -v text="$2" 'BEGIN { while (count-- > 0) print text }'
}

# finds FAULT: the planted tree is refused, and for exactly one reason.
finds() {
  tools/floorplan "$work" >"$work/out"
  status=$?
  find "$work/src" -type f -exec rm -f {} +
  cat "$work/out"
  [ "$status" = 1 ] && [ "$(wc -l <"$work/out")" = 1 ] && grep -qF "$1" "$work/out"
}

check "the tree keeps to the plan" tools/floorplan
check "an empty tree is not a success" finds "nothing to check"

file src/trace/trace.h '#include "base/base.h"' '#include "units/units.h"' '#include <math.h>'
file src/trace/inside.h '#include "trace/trace.h"' '#include "inside.h"'
check "a good tree passes" tools/floorplan "$work"

file src/trace/text/a.c '#include "trace/trace.h"' '#include "trace/text/text.h"' \
  '#include "trace/rows/rows.h"'
check "an arrow between folders that is not in the table" \
  finds "src/trace/text/a.c:4: no arrow goes from trace/text to trace/rows"
file src/trace/text/a.c '#include "trace/trace.h"' '#include "trace/text/text.h"'
check "and one that is" tools/floorplan "$work"

file src/trace/a.c '#include "base/base.h"' '#include "stats/stats.h"'
check "an arrow that is not in the table" finds "src/trace/a.c:3: no arrow goes from trace to stats"

file src/book/a.c '#include "units/inside.h"'
check "another room's private header" finds "src/book/a.c:2: outside units only units/units.h"

file src/book/a.c '#  include "units/number/units.h"'
check "a header deeper in another room" finds "src/book/a.c:2: outside units"

file src/attic/a.c '#include "base/base.h"'
check "a room without a row" finds "src/attic/a.c:2: the room attic has no row"

file src/trace/a.c '#include <time.h>'
check "a clock in a pure room" finds "src/trace/a.c:2: the room trace knows no"
file src/trace/a.c '#include <sys/stat.h>'
check "a disk in a pure room" finds "includes <sys/stat.h>"

echo 'int x;' >"$work/src/book/a.c"
check "a file without its licence" finds "src/book/a.c:1: no SPDX line"

file src/book/a.c "$(lines 499 'extern int x;')"
check "a file of 500 lines" finds "src/book/a.c:500: the file has 500 lines"
file src/book/a.c "$(lines 498 'extern int x;')"
check "a file of 499 lines passes" tools/floorplan "$work"

file src/book/a.c 'int seven(void)' '{' "$(lines 57 '  x++;')" '}'
check "a function of 59 lines passes" tools/floorplan "$work"
file src/book/a.c 'static const char *eight(int a,' '                   int b)' '{' "$(lines 58 '  x++;')" '}'
check "a function of 60 lines" finds "src/book/a.c:4: the function eight has 60 lines"

file src/book/a.c '#ifdef OUTSIDE' '#endif' 'int nine(void)' '{' '#ifdef __linux__' '  x++;' '}'
check "an #ifdef inside a function" finds "src/book/a.c:6: #if inside the function nine"

# An exception counts only with its reason.
sed 's,^exceptions=",&src/book/a.c ten one case a line,' tools/floorplan >"$work/excused"
sed 's,^exceptions=",&src/book/a.c ten,' tools/floorplan >"$work/unexcused"
file src/book/a.c 'int ten(void)' '{' "$(lines 80 '  x++;')" '}'
check "an exception with its reason" sh "$work/excused" "$work"
check "an exception without a reason" refuse sh "$work/unexcused" "$work"

done_testing
