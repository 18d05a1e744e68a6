# SPDX-License-Identifier: GPL-3.0-or-later
# Sourced by tests that open pages: $browser, $bitterend, $home with what drives the browser, and serve
# BOOK OPTION..., which sets $site and ends with the script. plan_evening BOOK SPECIMENS and serve_bench BOOK
# are an evening on nylon; the rig is to listen on $port.
browser=$(command -v chromium || command -v chromium-browser) || skip_all "needs the package chromium"
command -v node >/dev/null && command -v npm >/dev/null || skip_all "needs the packages nodejs and npm"
case $BUILD_DIR in */san | */clang) skip_all "pages are opened in the plain build alone" ;; esac
bitterend=$BUILD_DIR/src/cli/bitterend

home=$BUILD_DIR/browser
mkdir -p "$home"
# Two tests may start at once; one brings the packages.
exec 9>"$home.lock"
flock 9
cp tests/browser/*.mjs "$home"
tools/bring-packages tests/browser "$home" >"$work/npm" 2>&1 || {
  sed 's/^/# /' "$work/npm"
  skip_all "npm could not bring what drives the browser"
}
exec 9>&-

serve() {
  : >"$work/serving"
  "$bitterend" serve "$@" --port 0 >"$work/serving" 2>&1 &
  server=$!
  trap 'stop_serving; rm -rf "$work"' EXIT
  until site=$(grep -o 'http://[0-9.:]*' "$work/serving"); do
    kill -0 "$server" || { cat "$work/serving"; exit 1; }
    sleep 0.1
  done
}

plan_evening() {
  cat >"$work/lines.csv" <<'END'
line,spool,material,label
nylon 12 lb,S1,nylon,12 lb
END
  cat >"$work/knots.csv" <<'END'
knot,kind
palomar,hitch
clinch,hitch
END
  {
    "$bitterend" new "$1" && "$bitterend" enter "$1" "$work/lines.csv" "$work/knots.csv" &&
      "$bitterend" plan "$1" --trial evening --knots 'palomar; clinch' --on 'S1 + ring' --specimens "$2" \
        --plain 5 --seed 3 --fix
  } >"$work/said" 2>&1 || { cat "$work/said"; exit 1; }
}

serve_bench() {
  port=$((20000 + $$ % 20000))
  printf '[bench]\nsource = tcp\nsource settings = address=127.0.0.1 port=%s\nframes = number\nframe settings = unit=N\n' \
    "$port" >"$work/rigs"
  serve "$1" --rig "$work/rigs" --unit lb
}

stop_serving() {
  [ -n "${server-}" ] || return
  kill "$server"
  wait "$server"
  server=
}
