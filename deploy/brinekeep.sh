#!/bin/sh
# `brinekeep` on the path: the program beside this file, on the Node that came with it, else on the machine's own.
here=$(dirname "$(readlink -f "$0")")
for own in "$here/../runtime/bin/node" "$here/../node_modules/.bin/node" node; do
  if [ -x "$own" ]; then break; fi
done
exec "$own" "$here/../dist/hub/main.js" "$@"
