# SPDX-License-Identifier: GPL-3.0-or-later
# What a book is made of at the command line, whatever is given in its place: pipes, packages that
# another program packed or a hand changed, a merge that is ended in the middle.
. tests/cli/tap.sh
bitterend=$BUILD_DIR/bitterend
[ -x "$bitterend" ] || bitterend=$BUILD_DIR/src/cli/bitterend

# exits STATUS COMMAND...: the command ends with that status, and soon; its outputs are kept.
exits() {
  want=$1
  shift
  timeout 60 "$@" >"$work/out" 2>"$work/err" </dev/null
  got=$?
  cat "$work/out" "$work/err"
  [ "$got" = "$want" ]
}

# The words, however the lines are broken.
says() {
  cat "$work/out" "$work/err" | tr '\n' ' ' | tr -s ' ' | grep -qF -- "$1"
}

book=$work/season.book
other=$work/other.book
cat >"$work/pulls.csv" <<'END'
specimen,knot,line A,load (lb),what,where
p1,none,nylon 12 lb,13.2,broke,clear of it
p2,none,nylon 12 lb,13.6,broke,clear of it
a1,palomar,nylon 12 lb,12.1,broke,at its entry
a2,palomar,nylon 12 lb,12.6,broke,in the knot
b1,clinch,nylon 12 lb,10.1,broke,in the knot
b2,clinch,nylon 12 lb,10.9,broke,in the knot
END
check "a book" exits 0 "$bitterend" new "$book"
check "with pulls" exits 0 "$bitterend" enter "$book" "$work/pulls.csv"
check "another" exits 0 "$bitterend" new "$other"
check "with one" exits 0 "$bitterend" enter "$other" "$work/pulls.csv"

# ---- what is no plain file -------------------------------------------------

mkfifo "$work/pipe" "$work/pipe.zip"
mkdir "$work/folder"
for odd in pipe pipe.zip folder; do
  check "$odd as a sheet" exits 3 "$bitterend" enter "$book" "$work/$odd"
  check "$odd as rules" exits 3 "$bitterend" enter "$book" "$work/pulls.csv" --mapping-file "$work/$odd"
  check "is named for what it is" says "not a plain file"
  check "$odd as the table of a merge" exits 3 "$bitterend" merge "$book" "$other" --same "$work/$odd"
  check "is named too" says "not a plain file"
  check "$odd as the other book" exits 3 "$bitterend" merge "$book" "$work/$odd"
  check "$odd as the book" exits 3 "$bitterend" enter "$work/$odd" "$work/pulls.csv"
done
check "a device as a sheet" exits 3 "$bitterend" enter "$book" /dev/zero
check "is named" says "this is a device, not a plain file"

done_testing
