#!/usr/bin/env bash
# Builds the fuzzers and runs each for a bounded number of inputs over its kept corpus.
# Usage: scripts/fuzz.sh RUNS
set -euo pipefail
cd "$(dirname "$0")/.."
runs=${1:-20000}
mkdir -p build
scripts/install.sh fuzz
cmake --preset fuzz >build/fuzz.log 2>&1 || { tail -n 40 build/fuzz.log >&2; exit 1; }
cmake --build build/fuzz --target fuzz_document fuzz_edits fuzz_audio fuzz_request fuzz_http | tail -n 1
for fuzzer in build/fuzz/fuzz_*; do
  [ -x "$fuzzer" ] && [ -f "$fuzzer" ] || continue
  name=$(basename "$fuzzer")
  name=${name#fuzz_}
  mkdir -p "build/fuzz/found/$name"
  echo "$name: $runs runs"
  if ! "$fuzzer" -runs="$runs" -seed=1 -max_len=65536 -timeout=20 -rss_limit_mb=1024 \
    -artifact_prefix="build/fuzz/found/$name-" "build/fuzz/found/$name" "tests/fuzz/corpus/$name" \
    >"build/fuzz/$name.log" 2>&1; then
    tail -n 40 "build/fuzz/$name.log"
    exit 1
  fi
done
