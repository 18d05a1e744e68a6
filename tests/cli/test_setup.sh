# SPDX-License-Identifier: GPL-3.0-or-later
# How run and check get what is missing, played with stand-ins for the system's own tools.
. tests/cli/tap.sh

export work
unset DEBIAN_FRONTEND

# The only commands in reach: a few real ones, and stand-ins that write down their calls.
mkdir "$work/bin"
for tool in sh env cat; do
  ln -s "$(command -v "$tool")" "$work/bin/$tool"
done

# stand_in NAME: a command made of what comes on standard input.
stand_in() {
  { echo "#!/bin/sh"; cat; } >"$work/bin/$1"
  chmod +x "$work/bin/$1"
}

# setup UID PACKAGE...: asks for the packages as that user; prints what is said, then the calls.
setup() {
  : >"$work/calls"
  echo "echo $1" | stand_in id
  shift
  PATH=$work/bin sh -c '. tools/setup.sh; need "$@"' - "$@" </dev/null
  status=$?
  cat "$work/calls"
  return "$status"
}

# says WANT...: the last output is exactly these lines.
says() {
  printf '%s\n' "$@" | diff - "$work/said.before"
}
silent() {
  [ ! -s "$work/said.before" ]
}
# checks the setup, and keeps what it said for the checks after it.
check_setup() {
  check "$@"
  cp "$work/said" "$work/said.before"
}

stand_in dpkg-query <<'P'
echo "make:installed libgsl-dev:config-files libmd-dev:installed libmd-dev:installed "
exit 1
P
stand_in apt-get <<'P'
echo "apt-get $* (${DEBIAN_FRONTEND-})" >>"$work/calls"
[ ! -e "$work/broken" ]
P

check_setup "nothing is missing" setup 0 make libmd-dev
check "nothing is said or done" silent

check_setup "root installs what is missing" setup 0 make libgsl-dev libmd-dev ninja-build
check "only that" says "Installing what is missing: libgsl-dev ninja-build" \
  "apt-get -q update ()" \
  "apt-get install -y --no-install-recommends libgsl-dev ninja-build (noninteractive)"

: >"$work/broken"
check_setup "a failing installation is an error" refuse setup 0 ninja-build
check "the error tells what to type" \
  grep -q "apt-get update && apt-get install -y --no-install-recommends ninja-build" \
  "$work/said.before"
rm "$work/broken"

check_setup "others cannot install" refuse setup 1017 make ninja-build
check "they are told the line to type" says "These packages are missing: ninja-build" \
  "Ask someone who may install them to type this, then run this again:" \
  "  apt-get install -y --no-install-recommends ninja-build"

stand_in sudo <<'P'
echo "sudo $*" >>"$work/calls"
exec "$@"
P
check_setup "sudo is used where it is there" setup 1017 ninja-build
sudo_calls() {
  [ "$(grep -c '^sudo' "$work/said.before")" = 2 ]
}
check "for both steps" sudo_calls
check "it installs" grep -q '^apt-get install.*ninja-build (noninteractive)' "$work/said.before"

# What the build can do without.
wish() {
  : >"$work/calls"
  PATH=$work/bin sh -c '. tools/setup.sh; wish_for_npm; echo "and goes on"' </dev/null
  status=$?
  cat "$work/calls"
  return "$status"
}
echo "echo 0" | stand_in id
check_setup "npm is wished for" wish
check "and installed" grep -q '^apt-get install.* nodejs npm (noninteractive)' "$work/said.before"
: >"$work/broken"
check_setup "without it nothing ends" wish
check "but it is said" grep -q "^Without npm the pages" "$work/said.before"
rm "$work/broken"
echo 'exit 0' | stand_in npm
check_setup "npm may be there" wish
check "then nothing is done" says "and goes on"

rm "$work/bin/apt-get"
check_setup "another system cannot install" refuse setup 0 ninja-build
for name in make meson ninja pkg-config sqlite3 zlib gsl libmd libmicrohttpd jansson libzip librsvg \
  cairo pango fontconfig cmocka; do
  check "it is told to get $name" grep -qw -e "$name" "$work/said.before"
done

for tool in make cc meson ninja pkg-config; do
  echo 'exit 0' | stand_in "$tool"
done
check_setup "another system may have everything" setup 0 ninja-build
check "then nothing is said" silent

wrong() {
  "$@" 2>"$work/usage"
  [ "$?" = 2 ] && grep -q '^usage: ' "$work/usage"
}
check "run refuses what it does not know" wrong ./run --twice
check "check takes no arguments" wrong ./check now

done_testing
