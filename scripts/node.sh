# Sourced by the scripts of the page: puts a Node that the bundler runs with first in PATH, and
# installs the page's packages where they are missing or older than the list. Needs $root.
new_enough() { node -e 'const [a, b] = process.versions.node.split(".").map(Number); process.exit(a > 20 || (a === 20 && b >= 19) ? 0 : 1)' 2>/dev/null; }
if ! new_enough; then # Debian 12 has Node 18, with which the bundler does not run
  command -v npm >/dev/null || "$root/scripts/install.sh" node
  case $(uname -m) in
    x86_64) kind=x64 ;;
    aarch64) kind=arm64 ;;
    *) echo "Node 20.19 or newer is needed to build the page; please install it" >&2; exit 1 ;;
  esac
  [ -x "$root/build/tools/node_modules/node-linux-$kind/bin/node" ] ||
    npm install --prefix "$root/build/tools" --no-save --no-audit --no-fund "node-linux-$kind@22"
  export PATH="$root/build/tools/node_modules/node-linux-$kind/bin:$PATH"
fi
if [ ! -f "$root/web/node_modules/.package-lock.json" ] ||
  [ "$root/web/package-lock.json" -nt "$root/web/node_modules/.package-lock.json" ]; then
  npm --prefix "$root/web" ci --no-audit --no-fund
fi
