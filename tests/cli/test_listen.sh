# SPDX-License-Identifier: GPL-3.0-or-later
# An instrument is listened to in the terminal, and saved as a rig.
. tests/cli/tap.sh
bitterend=$BUILD_DIR/bitterend
[ -x "$bitterend" ] || bitterend=$BUILD_DIR/src/cli/bitterend

# listens STATUS WORDS OPTION...: its exit status, and words that it prints.
listens() {
  status=$1 words=$2
  shift 2
  "$bitterend" rig --listen "$@" >"$work/heard" 2>&1
  got=$?
  cat "$work/heard"
  [ "$got" = "$status" ] && grep -qF -- "$words" "$work/heard"
}

i=0
while [ "$i" -lt 60 ]; do
  printf 'ST,GS,+%03d.%03d,kg\r\n' "$((i / 7))" "$((i * 137 % 1000))"
  i=$((i + 1))
done >"$work/kilograms"
printf 'no number here\nnor there\nfish\n' >"$work/noise"
rigs=$work/rigs

check "what it sends is found out" listens 0 "sends frames of the kind header" \
  file --settings "path=\"$work/kilograms\" speed=0"
check "and its loads are shown" grep -qF "ST,GS,+000.137,kg" "$work/said"
check "as JSON too" listens 0 '"document":"found"' file --settings "path=\"$work/kilograms\" speed=0" --json
check "it is saved under a name" listens 0 "Saved as \"the shed's\"" \
  file --settings "path=\"$work/kilograms\" speed=0" --save "$rigs" --name "the shed's"
check "in the file of rigs" grep -qF "[the shed's]" "$rigs"
check "what cannot be read is a no" listens 1 "nothing here reads it" \
  file --settings "path=\"$work/noise\" speed=0" --save "$work/none" --name noise
check "and is not saved" refuse test -e "$work/none"
check "a source that there is not" listens 2 'there is no source "smoke"' smoke
check "a file that there is not" listens 3 "no-such-file" file --settings path=no-such-file
check "an instrument that is not there" listens 4 "the instrument cannot be reached" \
  tcp --settings "address=127.0.0.1 port=1"
check "no name to save it under" listens 2 "--save and --name go together" \
  simulated --save "$rigs"
check "a book besides" listens 2 "--listen takes neither a book nor a day" simulated some.book
check "settings of nothing" refuse "$bitterend" rig --settings port=4001
check "are told apart" grep -qF "goes with --listen" "$work/said"
done_testing
