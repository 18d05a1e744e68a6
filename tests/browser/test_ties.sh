# SPDX-License-Identifier: GPL-3.0-or-later
# A tie is drawn, looked at and kept, in a browser.
. tests/cli/tap.sh
. tests/browser/browser.sh
[ "$(wc -c <"$BUILD_DIR/src/assets/space.js")" -gt 1000 ] || skip_all "the view in space is not in this build"

"$bitterend" new "$work/ties.book" >/dev/null || exit 1
serve "$work/ties.book"
node "$home/ties.mjs" "$site" "$browser" ${PICTURES-}
