# SPDX-License-Identifier: GPL-3.0-or-later
# Sourced by test scripts: check NAME COMMAND..., skip NAME REASON, done_testing. $work is a
# folder that goes away at the end; $work/said is what the last checked command printed.
set -u
tests=0
work=$(mktemp -d) || exit 1
trap 'rm -rf "$work"' EXIT

check() {
  name=$1
  shift
  tests=$((tests + 1))
  if "$@" >"$work/saying" 2>&1; then
    echo "ok $tests - $name"
  else
    echo "not ok $tests - $name"
    sed 's/^/# /' "$work/saying"
  fi
  mv "$work/saying" "$work/said"
}

refuse() {
  ! "$@"
}

skip() {
  tests=$((tests + 1))
  echo "ok $tests - $1 # SKIP $2"
}

skip_all() {
  echo "1..0 # SKIP $1"
  exit 0
}

done_testing() {
  echo "1..$tests"
}
