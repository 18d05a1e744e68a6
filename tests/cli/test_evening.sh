# SPDX-License-Identifier: GPL-3.0-or-later
# An evening in the terminal: what stays the same is asked once, and the report answers its questions by it.
. tests/cli/tap.sh
bitterend=$BUILD_DIR/bitterend
[ -x "$bitterend" ] || bitterend=$BUILD_DIR/src/cli/bitterend
book=$work/evening.book

# answers LINE...: what a person types; says WORDS: what was said to it.
answers() {
  printf '%s\n' "$@" | "$bitterend" pull "$book" >"$work/talk" 2>&1
}
says() {
  grep -qF -- "$1" "$work/talk" || { cat "$work/talk"; return 1; }
}
# records WANT FIELDS...: of these columns of the package, in all pulls.
records() {
  want=$1
  shift
  rm -rf "$work/package"
  "$bitterend" publish "$book" --package "$work/package" >"$work/published" 2>&1 || { cat "$work/published"; return 1; }
  got=$(node -e '
    const rows = require("fs").readFileSync(process.argv[1], "utf8").trim().split(/\r?\n/)
      .map((row) => row.match(/("([^"]|"")*"|[^,]*)(,|$)/g).map((cell) => cell.replace(/,$/, "").replace(/"/g, "")));
    const at = process.argv.slice(2).map((name) => rows[0].indexOf(name));
    console.log(rows.slice(1).map((row) => at.map((i) => row[i]).join(" ")).join("; "));
  ' "$work/package/record/pulls.csv" "$@")
  [ "$got" = "$want" ] || { echo "got $got"; return 1; }
}

"$bitterend" new "$book" >/dev/null
check "what stays the same is asked before the first pull" answers 21 "21 C" 55 "bollards, 4 wraps" 500 450 dry "" \
  Wren water "2 lb" 5 none Tern s1 palomar "nylon 12 lb" y "12.2 lb" broke "in the knot" "line A" "" \
  s2 none "nylon 12 lb" y "13.2 lb" broke "clear of it" "line A" "" q
check "what no sheet takes is asked again" says 'Not done: column "temperature": "21" has no unit'
check "and it is said what every pull has" says "Told of every pull: temperature: 21 C; humidity: 55; grips: bollards, 4 wraps; "
check "another start on that day asks nothing" answers s3 palomar "nylon 12 lb" y "11.2 lb" broke "in the knot" "line A" "" \
  e "" - clamps . s4 palomar "nylon 12 lb" y "11.9 lb" broke "in the knot" "line A" "" q
check "and goes on with it" says "tyer: Wren; lubricant: water; seating load: "
check "the book is sound" "$bitterend" check "$book"
if command -v node >/dev/null; then
  check "each pull has it, until it is changed" records \
    "s1 dry Wren water bollards, 4 wraps 294.15 0.55; s2 dry   bollards, 4 wraps 294.15 0.55; s3 dry Wren water bollards, 4 wraps 294.15 0.55; s4 dry Wren water clamps 294.15 " \
    specimen soak tyer lubricant grips "temperature (K)" "humidity (1)"
fi
check "the report is written" "$bitterend" publish "$book" --report "$work/report.html"
answered() {
  for question in "dry or wet" "wetted before" "How fast was it pulled" "How was the knot seated" "What gripped the ends"; do
    tr '\n' ' ' <"$work/report.html" | sed 's/<tr/\n<tr/g' | grep -F "$question" | grep -qE "from the record|in part" || { echo "$question"; return 1; }
  done
}
check "and answers what it could not before" answered
done_testing
