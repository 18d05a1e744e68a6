# SPDX-License-Identifier: GPL-3.0-or-later
# Sourced by run and check: `need PACKAGE...` installs the Debian packages that are missing.

what_is_needed="a C17 compiler, make, meson 1.0 or later, ninja and pkg-config, and the
libraries sqlite3, zlib, libzstd, gsl, CAMD (of SuiteSparse), nlopt, libmd, libmicrohttpd, jansson, libzip, zint,
librsvg, cairo, pango, fontconfig, those of FFmpeg and cmocka with their headers, and the font DejaVu Sans"

# SuiteSparse and zint give pkg-config no file: ask the compiler.
has_the_others() {
  echo '#include <suitesparse/camd.h>
#include <zint.h>
int main(void) { return CAMD_OK || ZBarcode_Version() == 0; }' |
    cc -x c -o /dev/null - -lcamd -lzint 2>/dev/null
}

# Without Debian's package tools all we can do is look for the things themselves.
need_without_packages() {
  for tool in make cc meson ninja pkg-config; do
    command -v "$tool" >/dev/null 2>&1 || found=no
  done
  [ "${found-}" != no ] && pkg-config --exists sqlite3 zlib libzstd gsl nlopt libmd libmicrohttpd jansson libzip librsvg-2.0 \
    cairo-pdf pangocairo fontconfig libavformat libavcodec libavutil libswscale libswresample cmocka &&
    has_the_others && return
  echo "Something is missing, and this system has no apt-get to install it with."
  echo "bitterend needs $what_is_needed."
  echo "Install them with your system's own tool, then run this again."
  exit 1
} >&2

need() {
  if ! command -v apt-get >/dev/null 2>&1 || ! command -v dpkg-query >/dev/null 2>&1; then
    need_without_packages
    return
  fi
  have=" $(dpkg-query -W -f '${Package}:${db:Status-Status} ' "$@" 2>/dev/null) " || :
  missing=
  for package; do
    case $have in
      *" $package:installed "*) ;;
      *) missing="$missing $package" ;;
    esac
  done
  [ -n "$missing" ] || return 0

  line="apt-get install -y --no-install-recommends$missing"
  if [ "$(id -u)" = 0 ]; then
    as_root=
  elif command -v sudo >/dev/null 2>&1; then
    as_root=sudo
  else
    echo "These packages are missing:$missing" >&2
    echo "Ask someone who may install them to type this, then run this again:" >&2
    echo "  $line" >&2
    exit 1
  fi
  echo "Installing what is missing:$missing"
  # Old lists may still do, so a failing update alone is no reason to stop.
  $as_root apt-get -q update </dev/null || echo "The package lists could not be renewed." >&2
  if ! $as_root env DEBIAN_FRONTEND=noninteractive $line </dev/null; then
    echo "The packages could not be installed. Look at the message above, then type:" >&2
    echo "  ${as_root:+$as_root }apt-get update && ${as_root:+$as_root }$line" >&2
    exit 1
  fi
}

need_to_build() {
  need make gcc libc6-dev meson ninja-build pkg-config libsqlite3-dev zlib1g-dev \
    libzstd-dev libgsl-dev libsuitesparse-dev libnlopt-dev libmd-dev libmicrohttpd-dev \
    libjansson-dev libzip-dev libzint-dev librsvg2-dev libcairo2-dev libpango1.0-dev libfontconfig-dev \
    fonts-dejavu-core libavformat-dev libavcodec-dev libavutil-dev libswscale-dev libswresample-dev \
    libcmocka-dev "$@"
}

# Without npm all but the view in space can be built, so that nothing ends here.
wish_for_npm() {
  command -v npm >/dev/null 2>&1 || (need nodejs npm) ||
    echo "Without npm the pages of knots have still pictures in place of a view that turns." >&2
}
