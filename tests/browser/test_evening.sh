# SPDX-License-Identifier: GPL-3.0-or-later
# An evening of twenty pulls at the bench, in a browser, with a rig on a loopback line.
. tests/cli/tap.sh
. tests/browser/browser.sh

book=$work/evening.book
plan_evening "$book" 8
serve_bench "$book"
node "$home/evening.mjs" "$port" "$site" "$browser" ${PICTURES-} >"$work/node"
grep -v '^1\.\.' "$work/node"
tests=$(grep -c '^\(not \)\?ok' "$work/node")
stop_serving
pulled() {
  "$bitterend" plan "$book" --trial evening && "$bitterend" check "$book"
}
check "the book holds them, sound" pulled
grep -q "20 of 21 specimens" "$work/said" || { echo "not ok $((tests += 1)) - all twenty of them"; cat "$work/said"; }
done_testing
