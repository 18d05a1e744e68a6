# SPDX-License-Identifier: GPL-3.0-or-later
# How a specimen was handled, told in a browser: once for an evening at the bench, and later on the page of a pull.
. tests/cli/tap.sh
. tests/browser/browser.sh

book=$work/handled.book
plan_evening "$book" 2
serve "$book" --unit lb
node "$home/handled.mjs" "$site" "$browser" ${PICTURES-} >"$work/node"
grep -v '^1\.\.' "$work/node"
tests=$(grep -c '^\(not \)\?ok' "$work/node")
stop_serving
check "the book is sound" "$bitterend" check "$book"
done_testing
