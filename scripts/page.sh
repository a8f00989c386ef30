#!/usr/bin/env bash
# Builds the page into build/web/dist, compressed too, for the program to carry; nothing is done
# where it is newer than all that it is made of. No tests: see web.sh.
set -euo pipefail
cd "$(dirname "$0")/.."
root=$PWD
page=build/web/dist/index.html
if [ -f "$page" ] &&
  [ -z "$(find web -path web/node_modules -prune -o -type f -newer "$page" -print -quit)" ]; then
  exit 0
fi
. scripts/node.sh
npm --prefix web run --silent build
