#!/usr/bin/env bash
# Installs the Debian packages that `run` or `check` needs, and only those that are missing.
# Usage: scripts/install.sh run|check|node|fuzz
set -euo pipefail
cd "$(dirname "$0")/.."
need=${1:-run}
wanted=$(awk -v need="$need" '!/^#/ && ($1 == "run" || $1 == need) {print $2}' scripts/packages.txt)
missing=()
for package in $wanted; do
  dpkg-query -W -f='${Status}' "$package" 2>/dev/null | grep -q 'install ok installed' || missing+=("$package")
done
[ ${#missing[@]} -eq 0 ] && exit 0
echo "Installing: ${missing[*]}"
as_root=()
if [ "$(id -u)" -ne 0 ]; then
  command -v sudo >/dev/null || { echo "Please install as root: apt-get install ${missing[*]}" >&2; exit 1; }
  as_root=(sudo)
fi
"${as_root[@]}" apt-get update -qq
"${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-remove --no-install-recommends "${missing[@]}"
