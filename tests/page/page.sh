#!/bin/sh
# Fetches axe-core by npm where it is not there yet, and runs page_test.py.
set -eu

if [ "${1:-}" = --help ] || [ $# -ne 2 ]; then
  echo "Usage: page.sh VERGESET FOLDER-FOR-RESULTS"
  [ $# -eq 1 ] && exit 0
  exit 2
fi
here=$(cd "$(dirname "$0")" && pwd)
library=$2/axe
axe=$library/node_modules/axe-core/axe.min.js

if [ ! -s "$axe" ]; then
  mkdir -p "$library"
  # --ignore-scripts: nothing of a package is run but by us.
  timeout 120 npm install --prefix "$library" --no-audit --no-fund --ignore-scripts axe-core@4.14.1 >"$library/npm.log" 2>&1 || {
    tail -n 5 "$library/npm.log" >&2
    echo "npm could not fetch axe-core, by which accessibility is checked" >&2
    exit 1
  }
fi
exec /usr/bin/python3 "$here/page_test.py" "$1" "$2/pages" "$axe"
