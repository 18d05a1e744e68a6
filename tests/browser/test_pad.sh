# SPDX-License-Identifier: GPL-3.0-or-later
# A tie drawn on the pad, in a browser.
. tests/cli/tap.sh
. tests/browser/browser.sh

"$bitterend" new "$work/pad.book" >/dev/null || exit 1
serve "$work/pad.book"
node "$home/pad.mjs" "$site" "$browser" ${PICTURES-}
