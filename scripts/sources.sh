#!/usr/bin/env bash
# Prints each published source with the places where it is checked or used, then the engine headers
# that name none.
set -euo pipefail
cd "$(dirname "$0")/.."
grep -rnE '// Sources?:|/// Sources?:' src tests --include='*.h' --include='*.cpp' |
  sed -E 's#^([^:]+):([0-9]+):.*Sources?: *(.*)$#\3\t\1:\2#' | sort |
  awk -F'\t' '$1 != last { print $1; last = $1 } { print "    " $2 }'
echo
echo "Engine headers that name no source:"
for header in src/acoustics/*/*.h src/shop/*/*.h src/design/*/*.h; do
  grep -qE 'Sources?( of [^:]*)?:' "$header" || echo "    $header"
done
