#!/bin/sh
# `brinekeep` on the path: the release that runs, with the installed configuration. Root becomes the hub's user first, since
# a file that root makes beside the store could not be written by the hub.
: "${BRINEKEEP_CONFIG:=/etc/brinekeep/brinekeep.yaml}"
export BRINEKEEP_CONFIG
current=/opt/brinekeep/current
if [ "$(id -u)" = 0 ]; then
  exec setpriv --reuid=brinekeep --regid=brinekeep --init-groups -- \
    env HOME=/var/lib/brinekeep "$current/bin/node" "$current/dist/hub/main.js" "$@"
fi
exec "$current/bin/node" "$current/dist/hub/main.js" "$@"
