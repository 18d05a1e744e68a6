# SPDX-License-Identifier: GPL-3.0-or-later
# Reports in a browser: of the demonstration, of names that would be markup, and of an empty book.
. tests/cli/tap.sh
. tests/browser/browser.sh

"$bitterend" demo "$work/demo.book" --once --report "$work/demo.html" >/dev/null || exit 1
cat >"$work/odd.csv" <<'END'
specimen,knot,line A,hardware,soak,load (N),result,reason,what
a1,"a<b>&|c","n<i>lon 20 lb",ring,soaked,37.9,,,broke
a2,"a<b>&|c","n<i>lon 20 lb",ring,soaked,39.9,,,slipped out
b1,"d<script>alert(17)</script>","n<i>lon 20 lb",ring,soaked,41.9,,,broke
b2,"d<script>alert(17)</script>","n<i>lon 20 lb",ring,soaked,43.9,void,"<u>slack</u>",broke
p1,none,"n<i>lon 20 lb",,soaked,61.2,,,
END
"$bitterend" new "$work/odd.book" >/dev/null && "$bitterend" enter "$work/odd.book" "$work/odd.csv" >/dev/null &&
  "$bitterend" new "$work/empty.book" >/dev/null || exit 1
for book in odd empty; do
  "$bitterend" publish "$work/$book.book" --report "$work/$book.html" >/dev/null || exit 1
done
node "$home/report.mjs" "$browser" "${PICTURES--}" "$work/demo.html" "$work/odd.html" "$work/empty.html"
