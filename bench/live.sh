# SPDX-License-Identifier: GPL-3.0-or-later
# live.sh [RUNS], with BUILD_DIR set: the page of the bench in a browser; bench/live.mjs says what is measured.
. tests/cli/tap.sh
. tests/browser/browser.sh

cp bench/live.mjs "$home"
node "$home/live.mjs" "$BUILD_DIR" "$browser" "$@"
