# SPDX-License-Identifier: GPL-3.0-or-later
# An evening of twenty pulls at the bench, in a browser, with a rig on a loopback line.
. tests/cli/tap.sh
. tests/browser/browser.sh

cat >"$work/lines.csv" <<'END'
line,spool,material,label
nylon 12 lb,S1,nylon,12 lb
END
cat >"$work/knots.csv" <<'END'
knot,kind
palomar,hitch
clinch,hitch
END
book=$work/evening.book
{
  "$bitterend" new "$book" && "$bitterend" enter "$book" "$work/lines.csv" "$work/knots.csv" &&
    "$bitterend" plan "$book" --trial evening --knots 'palomar; clinch' --on 'S1 + ring' --specimens 8 \
      --plain 5 --seed 3 --fix
} >"$work/said" 2>&1 || { cat "$work/said"; exit 1; }

port=$((20000 + $$ % 20000))
printf '[bench]\nsource = tcp\nsource settings = address=127.0.0.1 port=%s\nframes = number\nframe settings = unit=N\n' \
  "$port" >"$work/rigs"
serve "$book" --rig "$work/rigs" --unit lb
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
