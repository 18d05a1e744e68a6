# SPDX-License-Identifier: GPL-3.0-or-later
# Labels as a reader of symbols reads them: each is drawn, decoded, and held against its code.
. tests/cli/tap.sh
for tool in rsvg-convert zbarimg; do
  command -v "$tool" >/dev/null 2>&1 ||
    skip_all "$tool is not installed (librsvg2-bin, zbar-tools)"
done
bitterend=$BUILD_DIR/bitterend
[ -x "$bitterend" ] || bitterend=$BUILD_DIR/src/cli/bitterend

long=$(printf '%0200d' 7)
cat >"$work/trial.csv" <<END
trial,specimen,order,block,knot,line A,soak
read,W1,1,1,reef,nylon 12 lb,dry
read,reef-7 b,2,1,none,nylon 12 lb,dry
read,20261126,3,1,reef,nylon 12 lb,dry
read,été_9,4,1,none,nylon 12 lb,dry
read,結び3,5,1,reef,nylon 12 lb,dry
read,$long,6,1,none,nylon 12 lb,dry
END
book=$work/labels.book
label() {
  "$bitterend" new "$book" && "$bitterend" enter "$book" "$work/trial.csv" &&
    "$bitterend" plan "$book" --trial read --labels "$work/labels.html"
}
check "labels of a trial are written" label

# Each symbol as an SVG file of its own: N-bars.svg and N-square.svg, N the label it stands on.
awk -v into="$work/" '/^<li>/ {
  n++
  while (match($0, /<svg [^>]*>.*/)) {
    end = index($0, "</svg>")
    svg = substr($0, RSTART, end + 5 - RSTART + 1)
    $0 = substr($0, end + 6)
    name = svg ~ /class="bars"/ ? "bars" : "square"
    sub(/<svg /, "<svg xmlns=\"http://www.w3.org/2000/svg\" ", svg)
    print svg >(into n "-" name ".svg")
  }
}' "$work/labels.html"

# reads N NAME CODE
reads() {
  size="-w 800"
  [ "$2" = square ] || size="-w 1200 -h 120"
  rsvg-convert $size -b white "$work/$1-$2.svg" -o "$work/symbol.png" || return
  read=$(zbarimg -q --raw "$work/symbol.png" 2>/dev/null)
  printf '%s\n' "$read"
  [ "$read" = "$3" ]
}

n=0
for code in "W1" "reef-7 b" "20261126"; do
  n=$((n + 1))
  check "the bars of $code" reads $n bars "$code"
  check "the square of $code" reads $n square "$code"
done
check "the square of été_9, which is UTF-8" reads 4 square "été_9"
check "its bars are drawn" test -s "$work/4-bars.svg"
check "the square of 結び3" reads 5 square "結び3"
check "it has no bars" refuse test -e "$work/5-bars.svg"
check "the square of 200 digits" reads 6 square "$long"
check "they have no bars" refuse test -e "$work/6-bars.svg"
check "what is lacking is said" grep -q \
  '2 of 6 labels lack a symbol; the first is that of &quot;結び3&quot;: it cannot be printed as bars' \
  "$work/labels.html"
done_testing
