# SPDX-License-Identifier: GPL-3.0-or-later
# The runner's own test: planted programs that fail, crash or fall short must each be counted.
. tests/cli/tap.sh

mkdir -p "$work/tree/tests/cli" "$work/tree/tools" "$work/tree/build/tests"
cp tests/run "$work/tree/tests/run"
cp tools/run-test "$work/tree/tools/run-test"

# plant NAME: makes a test program of what comes on standard input.
plant() {
  { echo "#!/bin/sh"; cat; } >"$work/tree/build/tests/$1"
  chmod +x "$work/tree/build/tests/$1"
}

# counts WANT: runs the planted tests and compares the last line and the exit status.
counts() {
  "$work/tree/tests/run" "$work/tree/build" >"$work/out" 2>&1
  status=$?
  rm -f "$work"/tree/build/tests/*
  want_status=1
  case $1 in
    "0 passed"*) ;;
    *", 0 failed") want_status=0 ;;
  esac
  echo "# $(tail -n 1 "$work/out"), status $status"
  [ "$(tail -n 1 "$work/out")" = "$1" ] && [ "$status" = "$want_status" ]
}

check "nothing to run is not a success" counts "0 passed, 0 failed"

plant test_good <<'P'
echo 1..3; echo ok 1 - a; echo ok 2 - b; echo ok 3
P
check "good results are counted" counts "3 passed, 0 failed"

plant test_bad <<'P'
echo 1..3; echo ok 1; echo "not ok 2 - seven is eight"; echo ok 3; exit 1
P
check "a failing result is counted" counts "2 passed, 1 failed"
check "its words are shown" grep -q "seven is eight" "$work/out"

plant test_crash_early <<'P'
echo 1..3; echo ok 1; kill -SEGV $$
P
check "what a crash swallowed has failed" counts "1 passed, 2 failed"
check "the signal is named" grep -q "died of signal 11" "$work/out"

plant test_crash_late <<'P'
echo 1..1; echo ok 1; kill -ABRT $$
P
check "a crash after the last result has failed" counts "1 passed, 1 failed"

plant test_short <<'P'
echo 1..5; echo ok 1; echo ok 2
P
check "a plan cut short has failed" counts "2 passed, 3 failed"

plant test_long <<'P'
echo 1..1; echo ok 1; echo ok 2
P
check "more results than planned have failed" counts "2 passed, 1 failed"

plant test_mute <<'P'
exit 0
P
check "silence has failed" counts "0 passed, 1 failed"

plant test_empty <<'P'
echo 1..0
P
check "an empty plan without a reason has failed" counts "0 passed, 1 failed"

plant test_exit <<'P'
echo 1..1; echo ok 1; exit 3
P
check "a bad exit has failed though every line says ok" counts "1 passed, 1 failed"

plant test_skip <<'P'
echo 1..3; echo ok 1; echo "# SKIP the moon is full"; echo "not ok 2 # SKIP tide"; echo "ok 3 # SKIP no boat"
P
plant test_skip_all <<'P'
echo "1..0 # SKIP no harbour"
P
check "a skip neither passed nor failed" counts "1 passed, 0 failed"
for reason in "the moon is full" "no boat" "no harbour"; do
  check "the reason is listed: $reason" grep -q "^skipped test_skip.*$reason" "$work/out"
done

cat >"$work/tree/tests/cli/test_script.sh" <<'P'
echo 1..1; echo "not ok 1 - in $BUILD_DIR"
P
plant test_good <<'P'
echo 1..1; echo ok 1
P
check "scripts run beside programs" counts "1 passed, 1 failed"
check "scripts are told the build folder" grep -q "in $work/tree/build\$" "$work/out"

done_testing
