# SPDX-License-Identifier: GPL-3.0-or-later
# Every page in a browser.
. tests/cli/tap.sh
. tests/browser/browser.sh

"$bitterend" demo "$work/demo.book" --once >/dev/null || exit 1
# A name without a space must not make a page wider than its window.
name=$(printf '%0200d' 0 | tr 0 x)
printf 'knot,line A,spool A,soak,load (lb)\n%s,nylon 12 lb,N12-1,dry,9.7\n%s,nylon 12 lb,N12-1,dry,9.1\n' "$name" "$name" >"$work/long.csv"
"$bitterend" enter "$work/demo.book" "$work/long.csv" >/dev/null || exit 1
serve "$work/demo.book"
node "$home/pages.mjs" "$site" "$browser" ${PICTURES-}
