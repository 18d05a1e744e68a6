# SPDX-License-Identifier: GPL-3.0-or-later
# A program that is asked to end in the middle of a pull keeps it, says so, and says so when it starts
# again.
. tests/cli/tap.sh
bitterend=$BUILD_DIR/bitterend
[ -x "$bitterend" ] || bitterend=$BUILD_DIR/src/cli/bitterend
book=$work/evening.book

# says WORDS FILE...: waits until one of the files does, for a machine that is busy.
says() {
  words=$1
  shift
  tries=0
  until grep -qF -- "$words" "$@"; do
    tries=$((tries + 1))
    if [ "$tries" -gt 400 ]; then cat "$@"; return 1; fi
    sleep 0.05
  done
}

# A rig on which nobody pulls for an hour.
cat >"$work/rigs" <<'END'
[bench]
source = simulated
source settings = rate_Hz=100 slack_s=3600 seed=3
frames = timed-s
frame settings = unit=N
END

# Keys to be typed, and nothing written yet: the words of the pull before would be taken for this one's.
nothing_yet() {
  rm -f "$work/keys"
  mkfifo "$work/keys"
  : >"$work/out"
}

# begin_pull CODE: in the terminal, until its zero is steady.
begin_pull() {
  nothing_yet
  "$bitterend" pull "$book" --rig "$work/rigs" <"$work/keys" >"$work/out" 2>&1 &
  pid=$!
  exec 3>"$work/keys"
  printf '.\n%s\npalomar\nnylon 12 lb\ny\n' "$1" >&3
  says ready "$work/out"
}

# ends SIGNAL: the program ends at it, as done.
ends() {
  kill -s "$1" "$pid"
  wait "$pid"
  got=$?
  exec 3>&-
  [ "$got" = 0 ] || { echo "exit $got"; return 1; }
}

kept="is not in the book yet: it is kept in $book.live"
answer() {
  "$bitterend" pull "$book" >"$work/out" 2>&1 <"$work/answers"
  cat "$work/out"
}

"$bitterend" new "$book" >/dev/null
n=0
for signal in TERM INT; do
  n=$((n + 1))
  check "a pull goes on" begin_pull "k$n"
  check "pull ends at SIG$signal" ends "$signal"
  check "and says where the pull is" says "The pull of k$n $kept" "$work/out"
  : >"$work/served"
  "$bitterend" serve "$book" --port 0 >"$work/served" 2>"$work/words" &
  pid=$!
  check "serve starts with it" says "The pages of" "$work/served"
  check "and says that it waits" says "The pull of k$n $kept" "$work/words"
  : >"$work/words"
  check "serve ends at SIG$signal" ends "$signal"
  check "and says so once more" says "The pull of k$n $kept" "$work/words"
  printf 'n\nq\n' >"$work/answers"
  check "the next pull asks for it" answer
  check "and says why" says "The program ended before a load was seen. Was it pulled?" "$work/out"
done
ended_at_a_question() {
  nothing_yet
  "$bitterend" pull "$book" <"$work/keys" >"$work/out" 2>&1 &
  pid=$!
  exec 3>"$work/keys"
  says "Temperature, with C or F: " "$work/out" && ends TERM
}
check "it ends at a question too" ended_at_a_question
check "with nothing to say" refuse grep -q "not in the book" "$work/out"
done_testing
