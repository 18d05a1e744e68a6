# SPDX-License-Identifier: GPL-3.0-or-later
# Several pages of the bench open at once agree.
. tests/cli/tap.sh
. tests/browser/browser.sh

plan_evening "$work/together.book" 2
serve_bench "$work/together.book"
node "$home/together.mjs" "$port" "$site" "$browser" ${PICTURES-}
stop_serving
