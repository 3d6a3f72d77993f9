#!/usr/bin/env bash
# Tries the Debian packages, the npm tarball and the commands of the container file of a release, each in a clean Debian in a
# folder of its own: sudo deploy/try-packages.sh FOLDER (what `npm run release` made, out/ by itself).
# Needs root, debootstrap, npm, and a mirror; run deploy/try-install.sh first, which makes the clean Debian.
set -euo pipefail
out=$(realpath "${1:-out}")
suite=bookworm
clean=${XDG_CACHE_HOME:-$HOME/.cache}/brinekeep-try/$suite
[ -f "$clean/.whole" ] || { echo "no clean $suite in $clean: run deploy/try-install.sh first" >&2 && exit 2; }
if [ -z "${BRINEKEEP_TRY_INSIDE:-}" ]; then
  export BRINEKEEP_TRY_INSIDE=yes
  exec unshare --mount --pid --fork --kill-child "$(realpath "${BASH_SOURCE[0]}")" "$out"
fi
arch=$(dpkg --print-architecture)
count=0
tree='' log=$(mktemp)
passed() { count=$((count + 1)) && printf 'passed: %s\n' "$*"; }
check() {
  local words=$1
  shift
  if "$@" >"$log" 2>&1; then passed "$words"; else
    tail -n 20 "$log" >&2
    printf 'FAILED: %s\n' "$words" >&2
    exit 1
  fi
}
fresh() {
  leave
  tree=$(mktemp -d /var/tmp/brinekeep-try-XXXXXX)
  cp -a "$clean/." "$tree" && chmod 755 "$tree"
  mount -t proc proc "$tree/proc"
  mount --rbind /dev "$tree/dev"
}
leave() {
  [ -n "$tree" ] || return 0
  # The hub of the container may still end.
  umount -R -l "$tree/dev" "$tree/proc"
  rm -rf --one-file-system "$tree"
  tree=''
}
trap leave EXIT
inside() { chroot "$tree" env -i PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin HOME=/root LANG=C.UTF-8 DEBIAN_FRONTEND="${frontend:-noninteractive}" "$@"; }
salinity() { inside "$@" calc salinity --conductivity_mS_cm 53.07 --temperature_C 25 | grep -q '34\.999'; }
first=$'site: {name: Try-out (invented), timezone: Europe/Lisbon}\nsystems:\n  - {id: display, name: Display tank, volume_l: 420, bands: {temperature: {low: 25, high: 26.5}}}\n'

fresh
cp "$out"/brinekeep_*_"$arch".deb "$out"/brinekeep-node_*_"$arch".deb "$tree/root/"
needs_a_node() { ! inside sh -c 'dpkg -i /root/brinekeep_*.deb'; }
check 'the package alone is refused where no Node 22.14 is' needs_a_node
began=$(date +%s%N)
check 'both packages install without a network' inside sh -c 'dpkg -i /root/brinekeep-node_*.deb /root/brinekeep_*.deb'
printf '        %d s, %d MB on disk\n' $((($(date +%s%N) - began) / 1000000000)) "$(du -s --block-size=1000000 "$tree/usr/lib/brinekeep" | cut -f1)"
check 'brinekeep is on the path' salinity brinekeep
check 'the user is there, in the group of serial ports' inside sh -c 'id -nG brinekeep | grep -qw dialout'
check 'the unit is enabled, and systemd takes it' inside sh -c 'systemctl is-enabled brinekeep.service && systemd-analyze verify --man=no /lib/systemd/system/brinekeep.service'
printf '%s' "$first" >"$tree/etc/brinekeep/brinekeep.yaml"
check 'the configuration is good' inside brinekeep check /etc/brinekeep/brinekeep.yaml
echo kept >"$tree/var/lib/brinekeep/kept"
check 'installed again, it keeps the configuration' inside sh -c 'dpkg -i /root/brinekeep_*.deb && grep -q Try-out /etc/brinekeep/brinekeep.yaml'
check 'purge without a yes keeps record and configuration' inside sh -c 'dpkg -P brinekeep && [ -f /var/lib/brinekeep/kept ] && [ -f /etc/brinekeep/brinekeep.yaml ]'
check 'the program is gone' test ! -e "$tree/usr/bin/brinekeep" -a ! -e "$tree/usr/lib/brinekeep/dist"
inside sh -c 'dpkg -i /root/brinekeep_*.deb' >/dev/null 2>&1
frontend=readline
check 'purge asks, and after a yes deletes both and the user' inside sh -c \
  'echo yes | dpkg -P brinekeep && [ ! -e /var/lib/brinekeep ] && [ ! -e /etc/brinekeep ] && ! getent passwd brinekeep'
frontend=''

# npm itself is plain JavaScript: this machine's, on the Node of the package above.
fresh
cp "$out"/brinekeep-*.tgz "$tree/root/"
cp "$out"/brinekeep-node_*_"$arch".deb "$tree/root/"
inside sh -c 'dpkg -i /root/brinekeep-node_*.deb && ln -s /usr/lib/brinekeep/runtime/bin/node /usr/local/bin/node' >/dev/null
cp -r "$(dirname "$(readlink -f "$(command -v npm)")")/.." "$tree/opt/npm"
tgz=$(basename "$(ls "$out"/brinekeep-*.tgz)")
began=$(date +%s%N)
check 'the npm tarball installs without a network, a compiler or a script' inside node /opt/npm/bin/npm-cli.js install -g --prefix /usr/local --offline "/root/$tgz"
printf '        %d s\n' $((($(date +%s%N) - began) / 1000000000))
check 'brinekeep is on the path' salinity brinekeep
check 'its database loads' inside node /usr/local/lib/node_modules/brinekeep/dist/deploy/store-facts.mjs sqlite

# The container file: ADD is tar, RUN is a shell in the tree, USER is setpriv; the last command is what a container runs.
fresh
version=$(basename "$tgz" .tgz) && version=${version#brinekeep-}
tar -xzf "$out/brinekeep-$version-linux-$arch.tar.gz" -C "$tree/opt" --no-same-owner
while read -r line; do check "RUN ${line:0:60}…" inside sh -c "$line"; done < <(sed -n 's/^RUN //p' "$out/Containerfile")
printf '%sdata_dir: /data\n' "$first" >"$tree/config/brinekeep.yaml"
as_user() { inside setpriv --reuid=brinekeep --regid=brinekeep --init-groups -- "$@"; }
entry=$(sed -n 's/^ENTRYPOINT \[\(.*\)\]/\1/p' "$out/Containerfile" | tr -d '",')
health=$(sed -n 's/^HEALTHCHECK.*CMD \[\(.*\)\]/\1/p' "$out/Containerfile" | tr -d '",')
read -r port < <(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
printf 'http: {port: %s}\nbroker: {port: 0}\n' "$port" >>"$tree/config/brinekeep.yaml"
# shellcheck disable=SC2086 # words of a command
as_user sh -c "cd /data && exec $entry run --wait-for-config /config/brinekeep.yaml" >"$log.hub" 2>&1 &
hub=$!
# shellcheck disable=SC2086 # words of a command
is_well() { as_user ${health% *} 60; }
check 'the hub of the container is well, not as root' is_well
kill "$hub"
wait "$hub" 2>/dev/null || true
printf '%d passed, 0 failed\n' "$count"
