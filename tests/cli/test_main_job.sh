# SPDX-License-Identifier: GPL-3.0-or-later
# The main job at the command line: every command, its exit status, and what it says.
. tests/cli/tap.sh
bitterend=$BUILD_DIR/bitterend
[ -x "$bitterend" ] || bitterend=$BUILD_DIR/src/cli/bitterend

# exits STATUS COMMAND...: the command ends with that status; its two outputs are kept.
exits() {
  want=$1
  shift
  "$@" >"$work/out" 2>"$work/err" </dev/null
  got=$?
  cat "$work/out" "$work/err"
  [ "$got" = "$want" ]
}

says() {
  grep -qF -- "$1" "$work/out" "$work/err"
}

cat >"$work/lines.csv" <<'END'
line,spool,material,label
nylon 12 lb,S1,nylon,12 lb
END
cat >"$work/pulls.csv" <<'END'
specimen,knot,spool A,soak,load (lb),what,where
p1,none,S1,dry,13.2,broke,clear of it
p2,none,S1,dry,13.6,broke,clear of it
p3,none,S1,dry,13.4,broke,clear of it
a1,palomar,S1,dry,12.1,broke,at its entry
a2,palomar,S1,dry,12.6,broke,in the knot
a3,palomar,S1,dry,12.3,broke,in the knot
b1,clinch,S1,dry,10.1,slipped out,
b2,clinch,S1,dry,"10,9",broke,in the knot
b3,clinch,S1,dry,47 N,broke,in the knot
END
book=$work/season.book

check "a new book" exits 0 "$bitterend" new "$book"
check "not over an old one" exits 2 "$bitterend" new "$book"
check "sheets in any order" exits 0 "$bitterend" enter "$book" "$work/pulls.csv" "$work/lines.csv"
check "counts what was added" says "pulls 9, corrections 0, traces 0, new lines 0, new knots 2"
check "says what a comma was taken for" says '"10,9" was taken for 10.9 lb'
check "the same bytes twice" exits 0 "$bitterend" enter "$book" "$work/pulls.csv"
check "add nothing, and say so" says "was entered before; nothing was added"

check "strength" exits 0 "$bitterend" strength "$book"
check "gives n, mean and efficiency" says "palomar"
check "divides by the line as measured" says "100 % is 13.40 lb: plain nylon 12 lb, n = 3"
check "standings" exits 0 "$bitterend" standings "$book" --seed 7
check "print their seed" says "seed 7"
check "versus" exits 0 "$bitterend" versus "$book" palomar clinch
check "names points and per cent" says "relative"
check "of the same knot is refused" exits 2 "$bitterend" versus "$book" palomar palomar
check "of an unknown knot names the known" exits 2 "$bitterend" versus "$book" palomar uni
check "with the list of knots" says '"clinch"'

same_twice() {
  "$bitterend" standings "$book" --seed 11 --json >"$work/one" &&
    "$bitterend" standings "$book" --seed 11 --json >"$work/two" && cmp "$work/one" "$work/two"
}
check "the same seed, the same bytes" same_twice
check "CSV" exits 0 "$bitterend" strength "$book" --csv
check "has one header and full figures" says "efficiency_percent_low"
check "other units" exits 0 "$bitterend" strength "$book" --unit N
check "are in the heads" says "(N)"
check "the report" exits 0 "$bitterend" publish "$book" --report "$work/report.html"
self_contained() {
  grep -q '<svg' "$work/report.html" && ! grep -Eq '(src|href)="(https?:)?//|@import|url\(' "$work/report.html"
}
check "holds its charts and asks for nothing outside" self_contained
check "check" exits 0 "$bitterend" check "$book"

# One bad row of a thousand: the file is refused whole, the book is as before.
{
  head -n 1 "$work/pulls.csv"
  i=0
  while [ $i -lt 999 ]; do
    i=$((i + 1))
    if [ $i = 700 ]; then echo "t$i,uni,S1,dry,ten,broke,in the knot"; else echo "t$i,uni,S1,dry,9.$((i % 10)),broke,in the knot"; fi
  done
} >"$work/thousand.csv"
before=$(cksum <"$book")
check "one bad row of a thousand" exits 3 "$bitterend" enter "$book" "$work/thousand.csv"
check "names line, column and reason" says 'thousand.csv: line 701: column 5: column "load (lb)": "ten" is not a force'
unchanged() {
  [ "$before" = "$(cksum <"$book")" ]
}
check "and leaves the book as it was" unchanged

printf 'specimen,knot,line A,load (lb),colour\nq1,uni,nylon 12 lb,9,red\n' >"$work/unknown.csv"
check "an unknown column" exits 3 "$bitterend" enter "$book" "$work/unknown.csv"
check "is named with its place" says 'unknown.csv: line 1: column 5: column "colour" is not one that a pull sheet has'
check "and may be passed over" exits 0 "$bitterend" enter "$book" "$work/unknown.csv" --ignore colour
printf 'specimen,knot,line A,load (lb)\nq2,uni,nylon 12 lb,"1,234"\nq3,uni,nylon 12 lb,9.5\n' >"$work/two-ways.csv"
check "two equal readings are asked about" exits 3 "$bitterend" enter "$book" "$work/two-ways.csv"
check "with both and the option" says "--decimal"
check "and the answer decides" exits 0 "$bitterend" enter "$book" "$work/two-ways.csv" --decimal comma

printf 'specimen,knot,line A,load (lb),correction\nq1,uni,nylon 12 lb,8.5,read the wrong row\n' >"$work/correct.csv"
check "a correction" exits 0 "$bitterend" enter "$book" "$work/correct.csv"
check "is a new result" says "corrections 1"

check "no book" exits 3 "$bitterend" strength "$work/none.book"
check "not a book" exits 3 "$bitterend" strength "$work/pulls.csv"
check "no such file" exits 3 "$bitterend" enter "$book" "$work/none.csv"
check "no such command" exits 2 "$bitterend" brew
check "no such option" exits 2 "$bitterend" strength "$book" --loud
check "a bad number" exits 2 "$bitterend" standings "$book" --seed seven
check "no folder to write in" exits 3 "$bitterend" publish "$book" --report "$work/none/report.html"

every_help() {
  for command in read new enter strength standings versus publish serve check demo; do
    "$bitterend" "$command" --help >"$work/help" || return 1
    grep -q '^usage: ' "$work/help" && grep -q '^example' "$work/help" || return 1
  done
}
check "every command explains itself with an example" every_help

# A trace: the peak as the file writes it.
printf 'Time (s),Load (N)\n' >"$work/pull.csv"
i=0
while [ $i -lt 60 ]; do
  i=$((i + 1))
  if [ $i -le 50 ]; then echo "$i.0,$((i * 2)).25"; else echo "$i.0,0.25"; fi
done >>"$work/pull.csv"
check "a trace" exits 0 "$bitterend" read "$work/pull.csv"
check "gives the peak, its unit and its place" says "peak 100.25 N at 50 s (line 51)"
sed 's/98.25/OL/; s/100.25/OL/' "$work/pull.csv" >"$work/over.csv"
check "a trace that passed its range" exits 0 "$bitterend" read "$work/over.csv"
check "is a lower bound" says "peak at least 96.25 N"
sed 1d "$work/pull.csv" >"$work/bare.csv"
check "a trace without a header" exits 0 "$bitterend" read "$work/bare.csv"
check "says what was taken for granted" says "names no unit of force"
sed 's/Load (N)/Signal (V)/' "$work/pull.csv" >"$work/volts.csv"
check "volts are no force" exits 3 "$bitterend" read "$work/volts.csv"
check "until they have a scale" exits 0 "$bitterend" read "$work/volts.csv" --scale 2 --scale-zero 0.25
check "and then give newtons" says "peak 200 N at 50 s"
check "an empty file" exits 3 "$bitterend" read /dev/null

serves() {
  "$bitterend" serve "$book" --port 0 >"$work/serving" 2>&1 &
  server=$!
  i=0
  while [ $i -lt 100 ] && ! grep -q 'http://' "$work/serving"; do
    i=$((i + 1))
    sleep 0.05
  done
  kill -INT $server
  wait $server
  cat "$work/serving"
  grep -q 'http://127.0.0.1:' "$work/serving"
}
check "the pages say their address and end when told" serves
done_testing
