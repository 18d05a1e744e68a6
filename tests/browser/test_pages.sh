# SPDX-License-Identifier: GPL-3.0-or-later
# Every page in a browser.
. tests/cli/tap.sh
. tests/browser/browser.sh

"$bitterend" demo "$work/demo.book" --once >/dev/null || exit 1
# A name without a space must not make a page wider than its window.
name=$(printf '%0200d' 0 | tr 0 x)
printf 'knot,line A,spool A,soak,load (lb)\n%s,nylon 12 lb,N12-1,dry,9.7\n%s,nylon 12 lb,N12-1,dry,9.1\n' "$name" "$name" >"$work/long.csv"
"$bitterend" enter "$work/demo.book" "$work/long.csv" >/dev/null || exit 1
printf 'knot,tie\n%s,carrick bend\n' "$name" >"$work/tie.csv"
"$bitterend" enter "$work/demo.book" "$work/tie.csv" >/dev/null || exit 1
printf '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 30 16"><path d="M1 8C8 1 12 15 20 8S26 2 29 8" fill="none" stroke="#222"/></svg>' >"$work/barrel-knot.svg"
"$bitterend" enter "$work/demo.book" "$work/barrel-knot.svg" >/dev/null || exit 1
serve "$work/demo.book"
node "$home/pages.mjs" "$site" "$browser" ${PICTURES-}
