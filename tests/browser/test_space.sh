# SPDX-License-Identifier: GPL-3.0-or-later
# A tie turns in space, in a browser.
. tests/cli/tap.sh
. tests/browser/browser.sh
[ "$(wc -c <"$BUILD_DIR/src/assets/space.js")" -gt 1000 ] || skip_all "the view in space is not in this build"

"$bitterend" new "$work/space.book" >/dev/null || exit 1
serve "$work/space.book"
node "$home/space.mjs" "$site" "$browser" ${PICTURES-}
