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
: >"$work/empty"
check "a new book" exits 0 "$bitterend" new "$book"
check "not over an old one" exits 2 "$bitterend" new "$book"
check "sheets in any order" exits 0 "$bitterend" enter "$book" "$work/pulls.csv" "$work/lines.csv"
check "counts what was added" says "pulls 9, corrections 0, traces 0, new lines 0, new knots 2"
check "says what a comma was taken for" says '"10,9" was taken for 10.9 lb'
check "the same bytes twice" exits 0 "$bitterend" enter "$book" "$work/pulls.csv"
check "add nothing, and say so" says "was entered before; nothing was added"

cat >"$work/benches.csv" <<'END'
bench,calibration (%),resolution
shed,0.5,0.01 lb
END
cat >"$work/two.csv" <<'END'
specimen,knot,knot B,spool A,bench,load (lb),which
t1,palomar,clinch,S1,Shed,11.2,knot B
t2,palomar,palomar,S1,attic,12.2,upper
END
cp "$book" "$work/two.book"
two_benches() {
  "$bitterend" enter "$work/two.book" "$work/two.csv" "$work/benches.csv"
}
check "a bench sheet after the pulls that name its bench" exits 0 two_benches
check "is entered before them, and counted" says "benches.csv: a bench sheet of 1 row, new lines 0, new knots 0, new benches 1,"
check "and a bench that no sheet told of is said" says 'new bench "attic": its figures are not recorded'
check "and counted" grep -qx "benches 1." "$work/out"
check "in the data too" exits 0 "$bitterend" enter "$work/two.book" "$work/benches.csv" --json
check "by its own key" says '"knots":0,"benches":0,'
check "a book with benches and two knots is sound" exits 0 "$bitterend" check "$work/two.book"

check "strength" exits 0 "$bitterend" strength "$book"
check "gives n, mean and efficiency" says "palomar"
check "divides by the line as measured" says ": plain nylon 12 lb, n = 3, matched by"
check "what soak and tyer do" exits 0 "$bitterend" standings "$book" --factor soak --factor tyer
check "of one all are alike" says "Not held fixed: soak (all are dry)."
check "the other was not written down" says "Not held fixed: tyer (not recorded)."
check "standings" exits 0 "$bitterend" standings "$book" --seed 7
check "print their seed" says "seed 7"
check "what moved since a file" exits 0 "$bitterend" standings "$book" --since pulls.csv
check "that was the first with pulls" says "Before pulls.csv the book held no pull"
check "since a day to come" exits 0 "$bitterend" standings "$book" --since 2999-12-31
check "nothing was entered" says "Nothing was entered since 2999-12-31."
check "since no such day" exits 2 "$bitterend" standings "$book" --since 2026-02-30
check "is refused with what may be asked" says "give a date such as 2026-10-01"
check "what moved by slips" exits 2 "$bitterend" standings "$book" --since pulls.csv --by slips
check "versus" exits 0 "$bitterend" versus "$book" palomar clinch
check "names points and per cent" says "relative"
check "of the same knot is refused" exits 2 "$bitterend" versus "$book" palomar palomar
check "of an unknown knot names the known" exits 2 "$bitterend" versus "$book" palomar uni
check "with the list of knots" says '"clinch"'

check "findings" exits 0 "$bitterend" findings "$book"
check "say what cannot be said" says "Cannot say what soaking does"
check "findings for a program" exits 0 "$bitterend" findings "$book" --json
check "each with its verdict" says '"verdict":"too few"'
cp "$book" "$work/plan.book"
plan() {
  "$bitterend" plan "$work/plan.book" "$@"
}
check "plan without a trial" exits 0 plan
check "says what could be planned" says "The book has no trial yet"
check "a plan" exits 0 plan --trial may --knots "palomar; clinch" --on "S1; S1 + ring" --specimens 4 --plain 5 --seed 3
check "answers first" says "21 specimens: 2 knots in 2 combinations, 4 each, and 5 plain lines: 1 h 35"
check "and changes nothing" says "The book is as it was"
check "for a precision" exits 0 plan --trial may --knots clinch --on S1 --within 5 --cv 7
check "says why" says "for an interval of 5 points either way"
check "for a difference" exits 0 plan --trial may --knots "palomar; clinch" --on S1 --difference 9 --power 90
check "says how it is told apart" says "with a power of 90 %: two-sample t test at 95 %"
check "is not asked for two numbers" exits 2 plan --trial may --knots clinch --on S1 --within 5 --specimens 3
check "nor without a name" exits 2 plan --knots clinch --on S1
check "nor of an unknown trial" exits 2 plan --trial june
check "nor on an unknown line" exits 2 plan --trial may --knots clinch --on S9
check "nor with a rule that is none" exits 2 plan --trial may --knots clinch --on S1 --grip weak
check "which names those there are" says "lower bound|void"
check "nor with a number that is none" exits 2 plan --trial may --knots clinch --on S1 --minutes soon
check "nor of two books" exits 2 plan "$work/plan.book"
fix() {
  plan --trial may --knots "palomar; clinch" --on "S1" --specimens 2 --plain 5 --seed 3 \
    --sheet "$work/may.csv" --labels "$work/may.html" --stop "as soon as apart" --fix "$@"
}
check "a plan is fixed" exits 0 fix
check "with its sheets and labels" says "may-rules.csv"
check "twice is once" exits 0 fix
check "and says so" says "It was fixed before"
check "another plan of the name is refused" exits 2 fix --soaked
first=$(sed -n 3p "$work/may.csv" | cut -d, -f2)
printf 'specimen,load (lb),what\n%s,12.5,broke\n' "$first" >"$work/evening.csv"
check "a specimen is pulled by its code alone" exits 0 "$bitterend" enter "$work/plan.book" "$work/evening.csv"
check "the trial goes on" exits 0 plan --trial may
check "says how far" says "1 of 9 specimens of the trial may are pulled; 8 are left"
check "and that it may not stop" says "It may not stop yet: 0 of 1 pairs"
check "reports tell of the trial" exits 0 "$bitterend" strength "$work/plan.book"
check "as planned" says "The trial may was pulled as planned so far: 1 of 9"
check "as CSV" exits 0 plan --trial may --csv
check "the planned book is sound" exits 0 "$bitterend" check "$work/plan.book"

cp "$book" "$work/pull.book"
# answers LINE...: pulls with these lines as what a person types.
answers() {
  printf '%s\n' "$@" | "$bitterend" pull "$work/pull.book"
}
check "a pull is taken in the terminal" answers "" . t1 palomar "nylon 12 lb" y "12.2 lb" broke "in the knot" "" "" q
grep -q "Kept: t1." "$work/said" || { tests=$((tests + 1)); echo "not ok $tests - and said to be kept"; }
check "what is no load is asked again" answers t2 palomar "nylon 12 lb" y weak broke "" "" "" "12 lb" broke "" "" "" q
check "a void says why" answers t3 clinch "nylon 12 lb" y "9 lb" broke "" "" "void: mis-tied" q
check "and no answer ends it" answers t4 palomar "nylon 12 lb"
check "what was kept is sound" exits 0 "$bitterend" check "$work/pull.book"
check "and no more than that" says "Files with the bytes that were entered: "
check "a rig that is none" exits 3 "$bitterend" pull "$work/pull.book" --rig "$work/no-such-rig"
check "a name without a file" exits 2 "$bitterend" pull "$work/pull.book" --rig-name shed

check "next" exits 0 "$bitterend" next "$book" --specimens 9
check "says how many of what" says "Tie 9: "
check "and what it brings" says "if the figures stay as they are"
check "in an hour, between two" exits 0 "$bitterend" next "$book" --minutes 60 --between palomar --and clinch
check "names them" says "the palomar or the clinch"
check "as CSV" exits 0 "$bitterend" next "$book" --csv
check "with every step" says "order,combination,what,n_then,why,gain_points,wrong_percent"
check "not both specimens and minutes" exits 2 "$bitterend" next "$book" --specimens 9 --minutes 60
check "not half a pair" exits 2 "$bitterend" next "$book" --between palomar
check "not of an unknown knot" exits 2 "$bitterend" next "$book" --between palomar --and uni
check "nor more places than knots" exits 2 "$bitterend" next "$book" --top 2
check "with the number there is" says "the largest group has 2 knots"
check "nor no specimens" exits 2 "$bitterend" next "$book" --specimens 0
check "nor minutes that are no number" exits 2 "$bitterend" next "$book" --minutes soon
check "nor a group that is not there" exits 2 "$bitterend" next "$book" --group wire
same_twice() {
  "$bitterend" standings "$book" --seed 11 --json >"$work/one" &&
    "$bitterend" standings "$book" --seed 11 --json >"$work/two" && cmp "$work/one" "$work/two"
}
check "the same seed, the same bytes" same_twice
check "CSV" exits 0 "$bitterend" strength "$book" --csv
check "has one header and full figures" says "efficiency_percent_low"
check "and, last, what holds for all of it" says "unit,lb"
check "such as the level" says "level,0.95"
for level in 0.5 0.9999; do
  check "level $level" exits 0 "$bitterend" strength "$book" --level $level
  check "versus at level $level" exits 0 "$bitterend" versus "$book" palomar clinch --level $level
done
for level in 0.49 0.99991 0.9999999999999999 1 many; do
  check "no level $level" exits 2 "$bitterend" strength "$book" --level $level
done
check "and what it may be" says "a number from 0.5 to 0.9999"
check "publish says what it wrote" exits 0 "$bitterend" publish "$book" --report "$work/report.html" --json
check "to a program as well" says '"document":"publish"'
check "serve takes no edition" exits 2 "$bitterend" serve "$work/none.book" --csv
check "check takes no unit" exits 2 "$bitterend" check "$book" --unit lb
check "check takes no seed" exits 2 "$bitterend" check "$book" --seed 7
check "check takes no CSV" exits 2 "$bitterend" check "$book" --csv
check "other units" exits 0 "$bitterend" strength "$book" --unit N
check "are in the heads" says "(N)"
check "the report" exits 0 "$bitterend" publish "$book" --report "$work/report.html"
self_contained() {
  grep -q '<svg' "$work/report.html" && ! grep -Eq '(src|href)="(https?:)?//|@import|url\(' "$work/report.html"
}
check "holds its charts and asks for nothing outside" self_contained
check "tables" exits 0 "$bitterend" publish "$book" --tables "$work/tables"
check "are counted" says "$work/tables"
tables() {
  grep -q '^combination,knot,n,' "$work/tables/all.csv" && grep -q '^| combination ' "$work/tables/all.md" && [ ! -e report.html ]
}
check "are CSV and Markdown, and alone no report" tables
echo "mine" >"$work/tables/all.md"
check "tables over a file that is none" exits 2 "$bitterend" publish "$book" --tables "$work/tables"
check "are refused with a way out" says "give another name with --tables"
before=$(cksum <"$book")
unchanged() {
  [ "$before" = "$(cksum <"$book")" ]
}
check "a report over the book" exits 2 "$bitterend" publish "$book" --report "$book"
check "is refused with a way out" says "give another name with --report"
ln -s "$book" "$work/alias.html"
check "under any name" exits 2 "$bitterend" publish "$book" --report "$work/alias.html"
check "and leaves the book as it was" unchanged
echo "notes of mine" >"$work/notes.html"
check "a report over a file that is none" exits 2 "$bitterend" publish "$book" --report "$work/notes.html"
check "says so" says "notes.html: the file exists, and it is no report of this program"
check "a report over a report" exits 0 "$bitterend" publish "$book" --report "$work/report.html"
check "every figure" exits 0 "$bitterend" publish "$book" --figures "$work/charts" --size column --json
check "is told with their number" says 'figures,'
listed() {
  [ -s "$work/charts/index-column.csv" ] && [ -s "$work/charts/$(sed -n '2s/,.*//p' "$work/charts/index-column.csv")" ]
}
check "and listed" listed
check "no size of its own" exits 2 "$bitterend" publish "$book" --size wide
check "wrong, and as it stood" exits 2 "$bitterend" publish "$book" --as-of 2026-01-01 --cards "$work/c" --size huge
check "a clip of no kind" exits 2 "$bitterend" publish "$book" --cards "$work/c" --overlay a1 --to "$work/a.avi"
check "is refused before anything is written" refuse test -e "$work/c"
check "no other size" exits 2 "$bitterend" publish "$book" --figures "$work/charts" --size huge
check "a demonstration over a season" exits 2 "$bitterend" demo "$book" --once
check "is refused" says "the book holds pulls of your own"
check "and leaves the season as it was" unchanged
check "a demonstration" exits 0 "$bitterend" demo "$work/demo.book" --once --report "$work/demo.html"
check "makes its report" test -s "$work/demo.html"
check "not over its own book" exits 2 "$bitterend" demo "$work/demo.book" --once --report "$work/demo.book"
check "nor over notes" exits 2 "$bitterend" demo "$work/demo.book" --once --report "$work/notes.html"
check "check" exits 0 "$bitterend" check "$book"
check "check for a program" exits 0 "$bitterend" check "$book" --json
check "says yes" says '"right":"yes"'
sed 's/p1,none,S1,dry,13\.2,broke/p1,none,S1,dry,13.9,broke/' "$book" >"$work/damaged.book"
check "a damaged book" exits 1 "$bitterend" check "$work/damaged.book"
check "is no, with its fault" says "are not those that were entered"
check "a damaged book, for a program" exits 1 "$bitterend" check "$work/damaged.book" --json
check "is an answer too" grep -q '"fault":"the bytes of file' "$work/out"
check "and only that" refuse grep -q . "$work/err"

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
check "and leaves the book as it was" unchanged

# Files that can be read only once, and files after a bad one.
fresh() {
  rm -f "$work/fresh.book"
  "$bitterend" new "$work/fresh.book"
}
from_input() {
  fresh && "$bitterend" enter "$work/fresh.book" - "$work/lines.csv" <"$work/pulls.csv"
}
check "a sheet from standard input" from_input
check "is entered after the lines it names" grep -qF "standard input: pulls 9, corrections 0, traces 0, new lines 0" "$work/said"
from_pipe() {
  fresh && cat "$work/pulls.csv" | "$bitterend" enter "$work/fresh.book" /dev/stdin "$work/lines.csv"
}
check "a sheet from a pipe" from_pipe
check "is entered whole" grep -qF "stdin: pulls 9" "$work/said"
check "standard input twice" exits 2 "$bitterend" enter "$work/fresh.book" - -
printf 'specimen,knot,line A,load (lb)\ng1,uni,nylon 12 lb,9.3\n' >"$work/good.csv"
printf 'specimen,knot,line A,load (lb)\ng2,uni,nylon 12 lb,9.4\n' >"$work/good2.csv"
printf 'specimen,knot,line A,load (lb)\ng3,uni,nylon 12 lb,nine\n' >"$work/bad.csv"
check "a new book for three" fresh
check "one bad sheet of three" exits 3 "$bitterend" enter "$work/fresh.book" "$work/good.csv" "$work/bad.csv" "$work/good2.csv"
check "keeps what came before" says "good.csv: pulls 1"
check "and says what was not tried" says "not tried: $work/good2.csv"
check "one that cannot be read" exits 3 "$bitterend" enter "$work/fresh.book" "$work/good2.csv" "$work/none.csv"
check "stops before any is entered" says "not tried: $work/good2.csv"
check "a book that is not there" exits 3 "$bitterend" enter "$work/none.book" "$work/good.csv"
check "is not said to be as before" refuse says "nothing of this file"

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
check "a day that is none" exits 2 "$bitterend" rig "$book" --day yesterday
check "a word that is no factor" exits 2 "$bitterend" standings "$book" --factor colour
check "a factor of slips" exits 2 "$bitterend" standings "$book" --by slips --factor soak
# A package: written, taken back, and brought into another book.
same_standings() {
  "$bitterend" standings "$book" --seed 7 --json >"$work/first.json" &&
    "$bitterend" standings "$work/again.book" --seed 7 --json | cmp - "$work/first.json"
}
alone_and_by_its_checksums() {
  [ ! -e "$work/report-by-default/report.html" ] && (cd "$work/package" && sha256sum --quiet -c checksums.sha256)
}
mkdir "$work/report-by-default"
package_in() { (cd "$work/report-by-default" && "$bitterend" publish "$book" --package "$work/package" --licence cc0-1.0); }
check "a package" exits 0 package_in
check "is told" says "package of"
check "has checksums, and no report beside it" alone_and_by_its_checksums
check "in a zip too" exits 0 "$bitterend" publish "$book" --package "$work/package.zip" --author 'A. N. Other'
check "under a licence that is said" says "No licence was told"
check "of no licence" exits 2 "$bitterend" publish "$book" --package "$work/package" --licence mine
check "a new book for it" exits 0 "$bitterend" new "$work/again.book"
check "takes it back" exits 0 "$bitterend" enter "$work/again.book" "$work/package.zip"
check "with the same standings" same_standings
check "but once" exits 2 "$bitterend" enter "$work/again.book" "$work/package"
echo x >>"$work/package/record/pulls.csv"
check "another new book" exits 0 "$bitterend" new "$work/other.book"
check "does not take one that was changed" exits 3 "$bitterend" enter "$work/other.book" "$work/package"
check "and says in what" grep -q "record/pulls.csv" "$work/err"
check "a merge asks first" exits 1 "$bitterend" merge "$work/other.book" "$work/again.book" --same "$work/same.csv"
check "then brings all in" exits 0 "$bitterend" merge "$work/other.book" "$work/again.book" --same "$work/same.csv" --json
check "told for a program" says '"document":"merge"'
check "and sound" exits 0 "$bitterend" check "$work/other.book"
check "no folder to write in" exits 3 "$bitterend" publish "$book" --report "$work/none/report.html"

every_help() {
  for command in read new enter pull rig strength standings versus findings plan next anatomy merge publish serve check demo; do
    "$bitterend" "$command" --help >"$work/help" || return 1
    grep -q '^usage: ' "$work/help" && grep -q '^example' "$work/help" || return 1
  done
}
check "every command explains itself with an example" every_help

# A tie: the answer, its files, and what is wrong with it.
check "the ties that are known" exits 0 "$bitterend" anatomy
check "are listed with their other names" says "grinner"
check "a tie with a setting" exits 0 "$bitterend" anatomy overhand turns=2
check "is told by what it is consistent with" says "With its ends joined far away it is consistent with 5_1"
check "a tie for a program" exits 0 "$bitterend" anatomy reef --json
check "has its codes" says '"gauss":"'
check "a tie as CSV" exits 0 "$bitterend" anatomy reef --csv
check "has its closures" says "closure,strand,drawn,left,alexander,determinant"
check "a code" exits 0 "$bitterend" anatomy 'dowker 4 6 8 2'
check "is a tie too" says "consistent with 4_1, figure-eight"
check "two ties compared" exits 0 "$bitterend" anatomy --compare reef granny
check "are told apart" says "linking number 0 against 3"
check "in the view with the fewest crossings" exits 0 "$bitterend" anatomy reef --fewest
check "says its view" says "in the view with the fewest found"
check "turned and tilted" exits 0 "$bitterend" anatomy reef --view 30,-20
check "says by how much" says "turned by 30 and tilted by -20 degrees"
check "all its files" exits 0 "$bitterend" anatomy clinch --svg "$work/t.svg" --png "$work/t.png" --pdf "$work/t.pdf" \
  --stl "$work/t.stl" --glb "$work/t.glb" --points "$work/t.txt" --width 300 --strip 3
all_there() {
  for file in svg png pdf stl glb txt; do [ -s "$work/t.$file" ] || return 1; done
}
check "are there" all_there
check "points are a tie again" exits 0 "$bitterend" anatomy "$work/t.txt"
check "a picture over a file that is none" exits 2 "$bitterend" anatomy clinch --svg "$work/notes.html"
check "is refused by name" says "notes.html: the file exists, and it is no picture of this program"
check "no such tie" exits 2 "$bitterend" anatomy clynch
check "is told the nearest" says "near to it: clinch"
check "a setting out of its range" exits 3 "$bitterend" anatomy clinch turns=99
check "is told the range" says "turns is a whole number from 1 to 10"
check "one tie compared" exits 2 "$bitterend" anatomy --compare reef
check "a view that is none" exits 2 "$bitterend" anatomy reef --view 30
check "a strip of one" exits 2 "$bitterend" anatomy reef --strip 1
check "a picture of no width" exits 2 "$bitterend" anatomy reef --width 0
printf 'tie a\n\nline A\n  0,0 q 5,0 9,0\n' >"$work/bad.tie"
check "a text that is wrong" exits 3 "$bitterend" anatomy "$work/bad.tie"
check "names file, line and column" says 'bad.tie: line 4: column 7: "q" is not known here'
check "an empty tie" exits 3 "$bitterend" anatomy "$work/empty"
check "is said to be empty" says "there is no tie in it"
check "no folder to draw in" exits 3 "$bitterend" anatomy reef --svg "$work/none/reef.svg"
check "anatomy takes no unit" exits 2 "$bitterend" anatomy reef --unit lb

# A trace: the peak as the file writes it.
printf 'Time (s),Load (N)\n' >"$work/pull.csv"
i=0
while [ $i -lt 60 ]; do
  i=$((i + 1))
  if [ $i -le 50 ]; then echo "$i.0,$((i * 2)).25"; else echo "$i.0,0.25"; fi
done >>"$work/pull.csv"
check "a trace" exits 0 "$bitterend" read "$work/pull.csv"
check "gives the peak, its unit and its place" says "peak 100.25 N at 50 s (line 51)"
check "a trace as CSV" exits 0 "$bitterend" read "$work/pull.csv" --csv
one_table() {
  [ "$(wc -l <"$work/out")" = 2 ] && head -n 1 "$work/out" | grep -q '^file,test,rows,peak,unit,peak_N,'
}
check "is one row" one_table
awk -F, 'NR == 1 { print; next } { print $1 "," $2 * 1000 }' "$work/pull.csv" >"$work/strong.csv"
check "a strong trace" exits 0 "$bitterend" read "$work/strong.csv"
check "is not written in powers of ten" refuse grep -q 'e+0' "$work/out"
check "but in full" says "100250.0 N"
check "a trace with its chart" exits 0 "$bitterend" read "$work/pull.csv" --chart "$work/pull.svg"
check "suggests a result, with its evidence" says "Suggested: event, broke (fell from 100 % to 0 %"
chart_is_whole() {
  grep -q '^<svg' "$work/pull.svg" && grep -q '<desc.*The load rises to 100' "$work/pull.svg" &&
    grep -q '>peak<' "$work/pull.svg" && tail -n 1 "$work/pull.svg" | grep -q '^</svg>'
}
check "the chart is an SVG with its marks and words" chart_is_whole
check "a chart is replaced by a chart" exits 0 "$bitterend" read "$work/pull.csv" --chart "$work/pull.svg"
check "but no other file is" exits 2 "$bitterend" read "$work/pull.csv" --chart "$work/correct.csv"
check "not even the trace" exits 2 "$bitterend" read "$work/pull.csv" --chart "$work/pull.csv"
check "one chart is not for two files" exits 2 "$bitterend" read "$work/pull.csv" "$work/pull.csv" --chart "$work/two.svg"
check "what is known of the rig" exits 0 "$bitterend" read "$work/pull.csv" --filter-hz 0.05 --device-peak 104.5 --resolution 1N
check "says what the filter may have taken" says "taken off by the filter, at most"
check "stands beside the device's peak" says "+4.2 % (relative) from the trace's"
check "and bounds what can be trusted" says "low-force"
check "a filter has a frequency" exits 2 "$bitterend" read "$work/pull.csv" --filter-hz -3
check "a device's peak is a force" exits 2 "$bitterend" read "$work/pull.csv" --device-peak 3mm
sed 's/98.25/OL/; s/100.25/OL/' "$work/pull.csv" >"$work/over.csv"
check "a trace that passed its range" exits 0 "$bitterend" read "$work/over.csv"
check "is a lower bound" says "peak at least 96.25 N"
sed 1d "$work/pull.csv" >"$work/bare.csv"
check "a trace without a header" exits 0 "$bitterend" read "$work/bare.csv"
check "says what was taken for granted" says "names no unit of force"
sed 's/Load (N)/Signal (V)/' "$work/pull.csv" >"$work/volts.csv"
check "volts are no force" exits 3 "$bitterend" read "$work/volts.csv"
check "until they have a scale" exits 0 "$bitterend" read "$work/volts.csv" --scale 2 --scale-zero 0.25
check "and then give newtons" says "peak 200.0 N at 50 s"
check "volts as CSV" exits 0 "$bitterend" read "$work/volts.csv" --scale 2 --scale-zero 0.25 --csv
check "keep their own unit beside newtons" says ",60,100.25,V,200,"
{
  printf 'time,load (N)\n'
  printf '14:03:%02d:%03d,%d.5\n' 58 0 1 58 500 3 59 0 9 59 500 2
} >"$work/clock.csv"
check "a clock with milliseconds behind a third colon" exits 0 "$bitterend" read "$work/clock.csv"
check "tells the time of the peak as a clock" says "peak 9.5 N at 14:03:59 (line 4)"
{
  printf 'time (s),load (N),time (ms),load (kN)\n'
  printf '%d,%d.5,%d,0.%d\n' 0 1 0 11 1 2 10 15 2 9 20 75 3 1 30 12
} >"$work/two.csv"
check "two tests side by side" exits 0 "$bitterend" read "$work/two.csv"
check "have each its own units" says "test 2: peak 0.75 kN at 20 ms (line 4)"
gzip -c "$work/pull.csv" >"$work/pull.csv.gz"
check "a trace packed with gzip" exits 0 "$bitterend" read "$work/pull.csv.gz"
check "gives the same peak" says "peak 100.25 N at 50 s (line 51)"
head -c 200 "$work/pull.csv.gz" >"$work/cut.gz"
check "one that is cut short" exits 3 "$bitterend" read "$work/cut.gz"
check "is not taken for the whole" says "the packed file ends early"
from_input() {
  cat "$work/pull.csv" | "$bitterend" read - >"$work/out" 2>&1
}
check "a trace from standard input" from_input
check "gives the same peak too" says "peak 100.25 N at 50 s (line 51)"
printf 'k1;k2;k3\n0;1,5;7\n20;2,5;7,5\n40;3,5;7,25\n60;9,5;7\n80;0,5;7\n' >"$work/odd.csv"
check "two columns that can be the force" exits 3 "$bitterend" read "$work/odd.csv"
check "are shown, each with what it would give" says "up to 9.5, the other 7, 7.5"
XDG_CONFIG_HOME=$work
export XDG_CONFIG_HOME
check "nothing told is nothing to save" exits 2 "$bitterend" read "$work/pull.csv" --keep-layout "x"
check "an answer can be saved" exits 0 "$bitterend" read "$work/odd.csv" --columns force=2,time=1 \
  --time ms --unit kg --keep-layout "deck scale"
check "then the file is recognised" exits 0 "$bitterend" read "$work/odd.csv"
check "and says so" says 'Recognised by the names of its columns as your layout "deck scale"'
check "saved layouts are listed" exits 0 "$bitterend" read --layouts
check "with what they are recognised by" says "k1 | k2 | k3"
check "a layout that is not there" exits 2 "$bitterend" read "$work/odd.csv" --layout none
check "one can be forgotten" exits 0 "$bitterend" read --forget-layout "deck scale"
check "and then it is asked again" exits 3 "$bitterend" read "$work/odd.csv"
check "a name with brackets" exits 2 "$bitterend" read "$work/odd.csv" --columns force=2 --keep-layout "a[b]"
check "an empty sheet" exits 3 "$bitterend" enter "$book" "$work/empty"
check "is told what a sheet has" says "one row that names its columns"
check "an empty file" exits 3 "$bitterend" read "$work/empty"
check "one bad file of three" exits 3 "$bitterend" read "$work/empty" "$work/pull.csv" "$work/none.csv"
check "does not hide the good one" says "peak 100.25 N at 50 s (line 51)"
both_refused() {
  [ "$(grep -c '^Not read' "$work/out")" = 2 ]
}
check "and each bad one is named with its reason" both_refused
check "one answer cannot be both JSON and CSV" exits 2 "$bitterend" read "$work/pull.csv" --json --csv

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
