#!/usr/bin/env bash
# The page: installs what it is built from, checks its types, runs its tests and builds it into
# build/web/dist. With --walk or --short-walk also walks through it in a browser (tests/browser).
# Usage: scripts/web.sh [--walk | --short-walk]
# Environment: ROOMWRIGHT the program that the walk asks for results (build/check/roomwright).
set -euo pipefail
cd "$(dirname "$0")/.."
root=$PWD

new_enough() { node -e 'const [a, b] = process.versions.node.split(".").map(Number); process.exit(a > 20 || (a === 20 && b >= 19) ? 0 : 1)' 2>/dev/null; }
if ! new_enough; then # Debian 12 has Node 18, with which the bundler does not run
  command -v npm >/dev/null || scripts/install.sh node
  case $(uname -m) in
    x86_64) kind=x64 ;;
    aarch64) kind=arm64 ;;
    *) echo "Node 20.19 or newer is needed to build the page; please install it" >&2; exit 1 ;;
  esac
  [ -x "build/tools/node_modules/node-linux-$kind/bin/node" ] ||
    npm install --prefix build/tools --no-save --no-audit --no-fund "node-linux-$kind@22"
  export PATH="$root/build/tools/node_modules/node-linux-$kind/bin:$PATH"
fi

cd web
if [ ! -f node_modules/.package-lock.json ] || [ package-lock.json -nt node_modules/.package-lock.json ]; then
  npm ci --no-audit --no-fund
fi
npm run --silent check
npm run --silent test
npm run --silent build
cd ..
# what the page weighs when it comes over the wire
find build/web/dist -name '*.js' -o -name '*.css' -o -name '*.html' | xargs cat | gzip -9 | wc -c |
  awk '{ printf "The page weighs %.0f kB compressed, fonts apart\n", $1 / 1000 }'
case ${1:-} in
  --walk) walk=() ;;
  --short-walk) walk=(--short) ;;
  *) exit 0 ;;
esac
(cd web && npm run --silent stand-in)
ROOMWRIGHT=${ROOMWRIGHT:-$root/build/check/roomwright} node tests/browser/walk.mjs "${walk[@]}"
