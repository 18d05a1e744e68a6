# SPDX-License-Identifier: GPL-3.0-or-later
# Every answer under /api/1/ against its description, from the demonstration and from odd books.
. tests/cli/tap.sh
. tests/browser/browser.sh
command -v curl >/dev/null || skip_all "needs the package curl"

# book NAME SHEET...: a new book with these sheets of the folder $work.
book() {
  made=$work/$1.book
  shift
  "$bitterend" new "$made" && (cd "$work" && "$bitterend" enter "$made" "$@")
}

head=specimen,design,knot,turns,line\ A,spool\ A,line\ B,hardware,soak,load\ \(N\),what,where,which
cat >"$work/one.csv" <<END
$head
a1,,uni,,nylon 12 lb,S1,,,dry,41.7,B,K,
END
cat >"$work/bare.csv" <<END
$head
b1,,uni,3,nylon 12 lb,S1,,,dry,41.7,B,K,
b2,,uni,5,nylon 12 lb,S1,,,dry,44.1,S,,
b3,,palomar,,nylon 12 lb,S1,,,dry,47.3,B,E,
b4,,palomar,,nylon 12 lb,S1,,,dry,48.9,B,G,
b5,two same,palomar,,nylon 12 lb,S1,,,dry,40.9,B,K,knot A
END
cat >"$work/hitches.csv" <<END
$head
$(for i in 1 2 3; do
  echo "p$i,,none,,nylon 12 lb,S1,,,dry,7$i.3,B,L,"
  echo "h$i,,uni,3,nylon 12 lb,S1,,swivel,dry,6$i.1,B,K,"
  echo "j$i,,uni,3,nylon 12 lb,S1,nylon 12 lb,,dry,4$i.7,B,K,M"
  echo "k$i,,uni,3,nylon 12 lb,S1,,swivel,soaked,5$i.9,S,,"
done)
END
echo 'specimen,photo,clip
b1,b1.jpg; b1-end.jpg,
b2,none,b2.mp4' >"$work/evidence.csv"
echo 'specimen,tyer
b1,Wren' >"$work/tyer.csv"
echo 'specimen,tyer,reason
b1,Tern,read wrongly' >"$work/anew.csv"
# How knots run: a hitch with settings, and a bend.
echo 'knot,turns,tie
uni,3,clinch turns=3
uni,5,reef' >"$work/ties.csv"
echo 'knot,turns,tie
uni,3,overhand' >"$work/tie.csv"
echo 'line,spool,material,label,on hand (m)
nylon 12 lb,S1,nylon,12 lb,60' >"$work/lines.csv"
cat >"$work/trial.csv" <<END
trial,specimen,order,block,knot,line A,spool A,soak
may,m1,1,1,uni,nylon 12 lb,S1,dry
may,m2,2,1,palomar,nylon 12 lb,S1,dry
may,m3,3,1,uni,nylon 12 lb,S1,dry
may,m4,4,2,palomar,nylon 12 lb,S1,dry
may,m5,5,2,none,nylon 12 lb,S1,dry
may,m6,6,2,uni,nylon 12 lb,S1,dry
may,m7,7,2,palomar,nylon 12 lb,S1,dry
END
echo 'trial,rule,value
may,stops,as soon as apart
may,slips out,void' >"$work/rules.csv"
echo 'specimen,load (lb),what,where,result,reason
m2,12.1,B,K,,
m1,10.1,B,E,,
m3,,,,void,looked weak' >"$work/begun.csv"
echo 'trial,rule,value,reason
may,slips out,event,as ever' >"$work/changed.csv"
{
  echo "$head"
  for i in $(seq 207); do echo "w$i,,uni,,braid 20 lb,,nylon 12 lb,,dry,$((40 + i % 7)).3,B,K,M"; done
} >"$work/many.csv"
{
  echo "$head"
  for i in $(seq 41); do echo "k$i,,knot $i,,nylon 12 lb,,,,dry,$((40 + i % 7)).3,B,K,"; done
} >"$work/knots.csv"

books() {
  "$bitterend" demo "$work/demo.book" --once && "$bitterend" new "$work/empty.book" && book one one.csv &&
    book bare lines.csv bare.csv evidence.csv tyer.csv anew.csv ties.csv && book hitches lines.csv hitches.csv tie.csv && book many many.csv && book knots knots.csv &&
    book trial lines.csv trial.csv rules.csv && cp "$made" "$work/bench.book" &&
    (cd "$work" && "$bitterend" enter "$made" begun.csv && "$bitterend" enter "$made" changed.csv)
}
check "odd books are made" books

serve_all() {
  servers=
  sites=
  for one in demo empty one bare hitches many knots trial; do
    : >"$work/serving"
    serve "$work/$one.book"
    servers="$servers $server"
    sites="$sites $site"
  done
  port=$((20000 + $$ % 20000))
  printf '[bench]\nsource = tcp\nsource settings = address=127.0.0.1 port=%s\nframes = number\nframe settings = unit=N\n' \
    "$port" >"$work/rigs"
  : >"$work/serving"
  serve "$work/bench.book" --rig "$work/rigs"
  servers="$servers $server"
  sites="$sites $site"
  trap 'kill $servers; wait; rm -rf "$work"' EXIT
}
serve_all
demo=${sites# }
demo=${demo%% *}

# The bytes of a command are those of its page.
same() {
  path=$1
  shift
  "$bitterend" "$@" --json >"$work/command" && curl -sf "$demo/api/1/$path" | cmp - "$work/command"
}
check "standings are those of the command" same standings standings "$work/demo.book"
check "by slips too" same "standings?by=slips" standings "$work/demo.book" --by slips
check "strength" same strength strength "$work/demo.book"
check "versus" same "versus?a=0&b=2&unit=kg" versus "$work/demo.book" "well tied" grinner --unit kg
check "findings" same findings findings "$work/demo.book"
check "next" same "next?minutes=90" next "$work/demo.book" --minutes 90
check "plan" same "plan?trial=0" plan "$work/demo.book" --trial "leader joins"

# The example of docs/formats.md, as it stands there, with its answer.
example() {
  sed -n '/^    \$ curl .*\/api\/1\//,/^$/s/^    //p' docs/formats.md >"$work/example"
  line=$(sed -n 's/^\$ //p' "$work/example" | sed "s,http://127.0.0.1:[0-9]*,$demo,")
  [ -n "$line" ] && sed 1d "$work/example" | sed '/^$/d' >"$work/want" && sh -c "$line" | diff "$work/want" -
}
check "the example of the handbook" example

node "$home/api.mjs" "$port" $sites >"$work/node"
sed -n "s/^ok \([0-9]*\)/ok/p; s/^not ok \([0-9]*\)/not ok/p; /^#/p" "$work/node" | awk -v tests="$tests" '
  /^(not )?ok/ { sub(/ok/, "ok " ++tests) }
  { print }'
tests=$((tests + $(grep -c '^\(not \)\?ok' "$work/node")))
grep -q '^1\.\.' "$work/node" || { echo "not ok $((tests += 1)) - it came to its end"; cat "$work/node"; }
done_testing
