#!/bin/sh
# `brinekeep` on the path: the program beside this file, on the Node that lies beside it, else on the machine's own.
here=$(dirname "$(readlink -f "$0")")
own=$here/../node_modules/.bin/node
[ -x "$own" ] || own=node
exec "$own" "$here/../dist/hub/main.js" "$@"
