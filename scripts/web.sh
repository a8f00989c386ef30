#!/usr/bin/env bash
# The page: installs what it is built from, checks its types, runs its tests and builds it into
# build/web/dist. With --walk or --short-walk also walks through it in a browser (tests/browser).
# Usage: scripts/web.sh [--walk | --short-walk]
# Environment: ROOMWRIGHT the program that the walk is done on, built with its page
# (build/check/roomwright).
set -euo pipefail
cd "$(dirname "$0")/.."
root=$PWD

. scripts/node.sh

cd web
npm run --silent check
npm run --silent test
npm run --silent build
cd ..
# what the page weighs when it comes over the wire
find build/web/dist -name '*.js' -o -name '*.css' -o -name '*.html' | xargs cat | gzip -9 | wc -c |
  awk '{ printf "The page weighs %.0f kB compressed, fonts apart\n", $1 / 1000 }'
case ${1:-} in
  --walk) walk=(--real) ;;
  --short-walk) walk=(--real --short) ;;
  *) exit 0 ;;
esac
ROOMWRIGHT=${ROOMWRIGHT:-$root/build/check/roomwright} node tests/browser/walk.mjs "${walk[@]}"
