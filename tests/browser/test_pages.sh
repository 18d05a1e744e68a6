# SPDX-License-Identifier: GPL-3.0-or-later
# Every page in a browser: npm brings what drives it, into the build folder.
. tests/cli/tap.sh
browser=$(command -v chromium || command -v chromium-browser) || skip_all "needs the package chromium"
command -v node >/dev/null && command -v npm >/dev/null || skip_all "needs the packages nodejs and npm"
case $BUILD_DIR in */san) skip_all "pages are opened without sanitizers" ;; esac
bitterend=$BUILD_DIR/src/cli/bitterend

home=$BUILD_DIR/browser
mkdir -p "$home"
cp tests/browser/package.json tests/browser/package-lock.json tests/browser/*.mjs "$home"
npm ci --prefix "$home" --no-audit --no-fund >"$work/npm" 2>&1 || {
  sed 's/^/# /' "$work/npm"
  skip_all "npm could not bring what drives the browser"
}

"$bitterend" demo "$work/demo.book" --once >/dev/null || exit 1
# A name without a space must not make a page wider than its window.
name=$(printf '%0200d' 0 | tr 0 x)
printf 'knot,line A,spool A,soak,load (lb)\n%s,nylon 12 lb,N12-1,dry,9.7\n%s,nylon 12 lb,N12-1,dry,9.1\n' "$name" "$name" >"$work/long.csv"
"$bitterend" enter "$work/demo.book" "$work/long.csv" >/dev/null || exit 1
"$bitterend" serve "$work/demo.book" --port 0 >"$work/serving" 2>&1 &
server=$!
trap 'kill "$server"; rm -rf "$work"' EXIT
until site=$(grep -o 'http://[0-9.:]*' "$work/serving"); do
  kill -0 "$server" || { cat "$work/serving"; exit 1; }
  sleep 0.1
done
node "$home/pages.mjs" "$site" "$browser" ${PICTURES-}
