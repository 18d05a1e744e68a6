# SPDX-License-Identifier: GPL-3.0-or-later
# What a book is made of at the command line, whatever is given in its place: pipes, packages that
# another program packed or a hand changed, and a merge (which tests/fault/test_merged.c ends in the
# middle).
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
  check "$odd as a sheet" exits 3 timeout 20 "$bitterend" enter "$book" "$work/$odd"
  check "$odd as rules" exits 3 timeout 20 "$bitterend" enter "$book" "$work/pulls.csv" --mapping-file "$work/$odd"
  check "is named for what it is" says "not a plain file"
  check "$odd as the table of a merge" exits 3 timeout 20 "$bitterend" merge "$book" "$other" --same "$work/$odd"
  check "is named too" says "not a plain file"
  check "$odd as the other book" exits 3 timeout 20 "$bitterend" merge "$book" "$work/$odd"
  check "$odd as the book" exits 3 timeout 20 "$bitterend" enter "$work/$odd" "$work/pulls.csv"
done
check "a device as a sheet" exits 3 timeout 20 "$bitterend" enter "$book" /dev/zero
check "is named" says "this is a device, not a plain file"

# ---- rules kept under names ------------------------------------------------

printf 'nr;Knoten;Schnur;kg\n1;uni;nylon 12 lb;5,4\nMittel;;;5,4\n' >"$work/own.csv"
own() {
  "$bitterend" enter "$book" "$work/own.csv" --column 'specimen = nr' --column 'knot = Knoten' --column 'line A = Schnur' \
    --column 'load (kg) = kg' --save-mapping notebook "$@"
}
check "a misspelt column to pass over" exits 2 own --pass-over 'nrr = Mittel'
check "is named with the near one" says 'write "nr" if you mean that'
check "a sheet of one's own shape" exits 0 own --pass-over 'nr = Mittel'
check "its rules are listed" exits 0 "$bitterend" enter "$book" --mappings
check "one by one" says "pass over: nr = Mittel"
check "for programs too" exits 0 "$bitterend" enter "$book" --mappings --json
check "under their name" says '"name":"notebook"'
check "with no files" exits 2 "$bitterend" enter "$book" "$work/own.csv" --mappings
check "are forgotten" exits 0 "$bitterend" enter "$book" --forget-mapping notebook
check "and gone" says "0 saved mappings"
check "but once" exits 2 "$bitterend" enter "$book" --forget-mapping notebook
check "and the book is sound" exits 0 "$bitterend" check "$book"
check "rules that are none are not kept" exits 2 "$bitterend" enter "$book" "$work/own.csv" --save-mapping mine

# ---- a merge -------------------------------------------------------------------

third=$work/third.book
printf 'specimen,knot,line A,load (lb)\nz1,uni,nylon 12 lb,9.3\n' >"$work/third.csv"
check "a third book" exits 0 "$bitterend" new "$third"
check "with a pull" exits 0 "$bitterend" enter "$third" "$work/third.csv"
merge_here() { (cd "$work" && "$bitterend" merge "$other" "$third" "$@"); }
check "without a table one is written" exits 1 merge_here
sed -i 's/,,\("*\)same name/,yes,\1same name/' "$work/same.csv"
cp "$work/same.csv" "$work/answered.csv"
check "it is not read unasked" exits 2 merge_here
check "nor written over" cmp "$work/same.csv" "$work/answered.csv"
check "a table is a file" exits 2 merge_here --same -
check "nothing of that name is made" [ ! -e "$work/-" ]
check "with its answers it comes in" exits 0 "$bitterend" merge "$other" "$third" --same "$work/same.csv"
check "and the book is sound" exits 0 "$bitterend" check "$other"
check "once" exits 2 "$bitterend" merge "$other" "$third" --same "$work/same.csv"

# ---- a package without this program ----------------------------------------------

check "a package" exits 0 "$bitterend" publish "$book" --package "$work/package"
sums() { (cd "$work/package" && sha256sum --quiet -c checksums.sha256); }
check "its checksums are those that sha256sum makes" sums
if command -v Rscript >/dev/null; then
  cat >"$work/read.R" <<'END'
folder <- commandArgs(TRUE)[1]
tables <- c(list.files(file.path(folder, c("record", "worked")), full.names = TRUE), file.path(folder, c("entered.csv", "dictionary.csv")))
told <- read.csv(file.path(folder, "dictionary.csv"), check.names = FALSE, colClasses = "character")
for (path in tables) {
  rows <- read.csv(path, check.names = FALSE, na.strings = "", fileEncoding = "UTF-8")
  mine <- told[told$table == sub(paste0(folder, "/"), "", path, fixed = TRUE), ]
  stopifnot(identical(names(rows), mine$column))
  for (name in mine$column[mine$type == "number"]) stopifnot(is.numeric(rows[[name]]) || all(is.na(rows[[name]])))
}
loads <- read.csv(file.path(folder, "worked/loads.csv"), check.names = FALSE)
strength <- read.csv(file.path(folder, "worked/strength.csv"), check.names = FALSE)
mean_of <- mean(loads[["load (N)"]][loads$knot == "palomar"])
stopifnot(abs(mean_of - strength[["mean (N)"]][strength$knot == "palomar"]) < 1e-9)
END
  check "its tables are those of the dictionary, read by R" Rscript --vanilla "$work/read.R" "$work/package"
else
  skip "its tables are those of the dictionary, read by R" "no R"
fi

done_testing
