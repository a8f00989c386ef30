#!/usr/bin/env bash
# Configures and builds one preset. Usage: scripts/build.sh PRESET [CMAKE OPTION ...]
# TARGETS="A B" builds these alone.
set -euo pipefail
cd "$(dirname "$0")/.."
preset=$1
shift
mkdir -p build
log=build/$preset.log
if ! cmake --preset "$preset" "$@" >"$log" 2>&1; then
  tail -n 40 "$log" >&2
  exit 1
fi
# shellcheck disable=SC2086
cmake --build "build/$preset" ${TARGETS:+--target $TARGETS}
