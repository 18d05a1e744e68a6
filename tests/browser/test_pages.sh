# SPDX-License-Identifier: GPL-3.0-or-later
# Every page in a browser.
. tests/cli/tap.sh
. tests/browser/browser.sh

"$bitterend" demo "$work/demo.book" --once >/dev/null || exit 1
serve "$work/demo.book"
node "$home/pages.mjs" "$site" "$browser" ${PICTURES-}
