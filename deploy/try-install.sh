#!/usr/bin/env bash
# Tries a release from nothing, in a clean Debian made by debootstrap: install with a board on a serial line and a probe at a
# broker, second run, the hub by hand, sign-in, the phone's topic, what it asks of the disk, an update to a broken release and
# to a good one, from an older release, uninstall. Nothing outside the scratch folder is touched.
#
#   sudo deploy/try-install.sh --release FILE [--suite bookworm] [--from FILE]
#
#   --release    brinekeep-VERSION-linux-ARCH.tar.gz, as `npm run release` makes it
#   --from       an older one: the hub is updated from it to the other, with what it has recorded
#
# Needs root, debootstrap, socat, strace, mosquitto with its clients, python3, and a mirror.
#
# The clean Debian and its packages are kept in ${XDG_CACHE_HOME:-~/.cache}/brinekeep-try for the next run.
set -euo pipefail
suite=bookworm archive='' older='' tree=''
while [ $# -gt 0 ]; do
  case $1 in
    --suite) suite=$2 && shift ;;
    --release) archive=$(realpath "$2") && shift ;;
    --from) older=$(realpath "$2") && shift ;;
    *) sed -n '6s/^# *//p' "${BASH_SOURCE[0]}" >&2 && exit 2 ;;
  esac
  shift
done
[ -f "$archive" ] || { echo 'name a release: --release brinekeep-VERSION-linux-ARCH.tar.gz (npm run release makes one)' >&2 && exit 2; }
# Mounts of its own, which vanish with it, and processes that end with it.
if [ -z "${BRINEKEEP_TRY_INSIDE:-}" ]; then
  export BRINEKEEP_TRY_INSIDE=yes
  exec unshare --mount --pid --fork --kill-child "$(realpath "${BASH_SOURCE[0]}")" --suite "$suite" \
    --release "$archive" ${older:+--from "$older"}
fi

cache=${XDG_CACHE_HOME:-$HOME/.cache}/brinekeep-try
count=0 began=$SECONDS
passed() {
  count=$((count + 1))
  printf '[%4d s] passed: %s\n' $((SECONDS - began)) "$*"
}
failed() {
  printf '[%4d s] FAILED: %s (the tree is left in %s)\n' $((SECONDS - began)) "$*" "$tree" >&2
  exit 1
}
# check WORDS COMMAND...
check() {
  local words=$1
  shift
  if "$@" >"$cache/last.log" 2>&1; then passed "$words"; else
    tail -n 20 "$cache/last.log" >&2
    failed "$words"
  fi
}

mkdir -p "$cache"
# One of the two kinds of list may be missing.
mirror=$(cat /etc/apt/sources.list /etc/apt/sources.list.d/* 2>/dev/null |
  sed -n 's|^URIs: *\(.*/debian\)/*$|\1|p; s|^deb *\(\[[^]]*\] *\)\{0,1\}\([^ ]*/debian\)/* .*|\2|p' | head -n 1 || true)
if [ ! -f "$cache/$suite/.whole" ]; then
  rm -rf "${cache:?}/$suite"
  debootstrap --variant=minbase --include=ca-certificates,systemd,udev "$suite" "$cache/$suite" ${mirror:+"$mirror"} >"$cache/debootstrap.log"
  touch "$cache/$suite/.whole"
fi
passed "a clean $suite is there"
tree=$(mktemp -d /var/tmp/brinekeep-try-XXXXXX)
cp -a "$cache/$suite/." "$tree"
chmod 755 "$tree"
cp /etc/hosts "$tree/etc/"
mount -t proc proc "$tree/proc"
mount --rbind /dev "$tree/dev"
inside() {
  chroot "$tree" env -i PATH=/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin HOME=/root LANG=C.UTF-8 \
    BRINEKEEP_SERVICE="${service:-}" "$@"
}
node_inside() { inside /opt/brinekeep/current/bin/node "$@"; }

# A probe board on a pseudo-terminal, which the hub's user may read, and a probe that speaks to a broker.
line=$(mktemp -u /tmp/brinekeep-try-line-XXXXXX)
socat "pty,raw,echo=0,link=$line,mode=666" SYSTEM:'while sleep 0.5; do echo "t=25.41 ph=8.21 ec=53.12"; done' 2>/dev/null &
for _ in $(seq 100); do if [ -e "$line" ]; then break; fi && sleep 0.1; done
read -r http broker < <(python3 -c 'import socket
a, b = socket.socket(), socket.socket()
a.bind(("127.0.0.1", 0)); b.bind(("127.0.0.1", 0))
print(a.getsockname()[1], b.getsockname()[1])')
printf 'listener %s 127.0.0.1\nallow_anonymous true\npersistence false\n' "$broker" >"$cache/broker.conf"
mosquitto -c "$cache/broker.conf" >"$cache/broker.log" 2>&1 &
(while sleep 1; do mosquitto_pub -p "$broker" -t fishroom/display/orp -m 352 2>/dev/null || true; done) &
printf '%s\n' 'site_name: Try-out (invented)' 'timezone: Europe/Lisbon' 'volume_l: 420' "ports: [$(readlink "$line")]" \
  "broker_url: mqtt://127.0.0.1:$broker" 'broker_topics: [fishroom/display]' "http_port: $http" >"$tree/root/answers.yaml"
echo 'a passphrase of the try-out' >"$tree/root/passphrase"

# Everything that runs in the tree, added up five times a second: shared memory counts once (PSS).
cat >"$cache/watch-memory.py" <<'END'
import os, sys, time
tree, path, most = sys.argv[1], sys.argv[2], 0
while True:
    kB = 0
    for pid in filter(str.isdigit, os.listdir("/proc")):
        try:
            if not os.readlink(f"/proc/{pid}/root").startswith(tree): continue
            kB += sum(int(l.split()[1]) for l in open(f"/proc/{pid}/smaps_rollup") if l.startswith("Pss:"))
        except OSError: pass
    if kB > most:
        most = kB
        open(path, "w").write(str(most // 1000))
    time.sleep(0.2)
END
python3 "$cache/watch-memory.py" "$tree" "$cache/most-MB" &
watcher=$!
unpack() { rm -rf "$tree/root/$1" && mkdir -p "$tree/root/$1" && inside tar -xzf "/root/$1.tar.gz" -C "/root/$1" --strip-components=1; }
cp "$archive" "$tree/root/release.tar.gz"
first=release
if [ -n "$older" ]; then
  cp "$older" "$tree/root/older.tar.gz"
  first=older
fi
install=(inside "/root/$first/deploy/install.sh" --answers /root/answers.yaml --passphrase-file /root/passphrase)
install_began=$(date +%s%N)
check 'the archive is unpacked' unpack "$first"
check 'install.sh ends well' "${install[@]}"
installed_ms=$((($(date +%s%N) - install_began) / 1000000))
cp "$cache/last.log" "$cache/install.log"
sed 's/^/           | /' "$cache/install.log"
tells_what_next() { grep -q '^The page: *http://' "$1" && grep -q '^Try: *brinekeep ' "$1" && grep -q '^Next: ' "$1"; }
check 'it ends with the address of the page, a line to try and what comes next' tells_what_next "$cache/install.log"
check 'it fetched no package, no compiler' test -z "$(inside sh -c 'command -v g++ make python3 npm curl' || true)"

check 'systemd that does not run is told of' grep -q 'does not run here' "$cache/install.log"
check 'the probe on the serial line is offered by name with its value' grep -q 'used: Temperature 25.41 .* on port' "$cache/install.log"
check 'the probe at the broker is offered by name with its value' grep -q 'used: .*352 mV on topic fishroom/display/orp' "$cache/install.log"
check 'the user exists, in the group of serial ports, without a shell' inside sh -c \
  'id -nG brinekeep | grep -qw dialout && getent passwd brinekeep | grep -q nologin'
check 'the configuration is root'\''s, and the hub alone may read and change it' test "$(inside stat -c '%U:%G %a' /etc/brinekeep/brinekeep.yaml)" = 'root:brinekeep 660'
check 'the store'\''s folder is the hub'\''s alone' test "$(inside stat -c '%U:%G %a' /var/lib/brinekeep)" = 'brinekeep:brinekeep 700'
check 'no file of the program can be written by anybody but root' test -z \
  "$(inside find /opt/brinekeep ! -type l \( ! -user root -o -perm /022 \) -print -quit)"
check 'brinekeep is on the path and the configuration good' inside brinekeep check /etc/brinekeep/brinekeep.yaml
check 'the unit is enabled' inside systemctl is-enabled brinekeep.service
for unit in brinekeep.service brinekeep-backup.service brinekeep-backup.timer; do
  check "systemd-analyze verify $unit" inside systemd-analyze verify --man=no "/etc/systemd/system/$unit"
done
score=$(inside systemd-analyze security --offline=true --no-pager /etc/systemd/system/brinekeep.service 2>/dev/null |
  sed -n 's/.*Overall exposure level for .*: \([0-9.]*\).*/\1/p')
check "the unit's exposure by systemd-analyze security is at most 2.0: ${score:-not told}" awk "BEGIN { exit !(\"$score\" != \"\" && $score+0 <= 2.0) }"
check 'udev rule and journal bounds are in place' test -f "$tree/etc/udev/rules.d/70-brinekeep.rules" -a \
  -f "$tree/etc/systemd/journald.conf.d/brinekeep.conf"

listing() {
  (cd "$tree" && find etc opt usr var/lib/brinekeep -printf '%p %y %m %U:%G %l\n' | LC_ALL=C sort &&
    find etc opt/brinekeep usr/local var/lib/brinekeep -type f -print0 | LC_ALL=C sort -z | xargs -0 sha256sum)
}
listing >"$cache/before.txt"
check 'a second run ends well' "${install[@]}"
listing >"$cache/after.txt"
check 'the second run changed nothing' diff "$cache/before.txt" "$cache/after.txt"

# What systemd would do: the unit's own ExecStart, as its own user, started again when it ends.
exec_start=$(sed -n 's/^ExecStart=//p' "$tree/etc/systemd/system/brinekeep.service")
cat >"$tree/root/service.sh" <<END
#!/bin/bash
group=/run/brinekeep-try
case \$1 in
  stop)
    [ -f \$group ] || exit 0
    kill -- "-\$(cat \$group)" 2>/dev/null
    while kill -0 -- "-\$(cat \$group)" 2>/dev/null; do sleep 0.1; done
    rm -f \$group ;;
  start)
    setsid bash -c 'echo \$\$ >/run/brinekeep-try; cd /var/lib/brinekeep
      while true; do setpriv --reuid=brinekeep --regid=brinekeep --init-groups -- $exec_start; sleep 2; done' >>/run/hub.log 2>&1 </dev/null &
    while [ ! -s \$group ]; do sleep 0.1; done ;;
esac
END
chmod +x "$tree/root/service.sh"
service=/root/service.sh
health() { node_inside /opt/brinekeep/current/dist/deploy/ask-health.mjs /etc/brinekeep/brinekeep.yaml 60 "${1:-0}"; }
inside "$service" start
check 'the hub answers on /health, started by hand as its user' health
page_ms=$((($(date +%s%N) - install_began) / 1000000))
kill "$watcher"
printf '[%4d s] from the archive to the page: %d.%d s (installed after %d.%d s), at most %s MB of memory, %d MB on disk\n' \
  $((SECONDS - began)) $((page_ms / 1000)) $((page_ms / 100 % 10)) $((installed_ms / 1000)) $((installed_ms / 100 % 10)) \
  "$(cat "$cache/most-MB")" "$(du -s --block-size=1000000 "$tree/opt/brinekeep" | cut -f1)"
# What the kernel is asked for: the store of the running hub, for as long as two flushes take.
asks_for_data_alone() {
  local pid
  # The tree's /proc has the numbers of this namespace; the only Node that runs in there is the hub's.
  pid=$(cd "$tree/proc" && for each in [0-9]*; do case $(readlink "$each/exe") in */node) echo "$each" ;; esac; done)
  timeout 25 strace -f -qq -c -e trace=fsync,fdatasync -o "$cache/syncs.txt" -p "$pid" || [ $? = 124 ]
  cat "$cache/syncs.txt"
  grep -qw fdatasync "$cache/syncs.txt" && ! grep -qw fsync "$cache/syncs.txt"
}
check 'the running store asks the disk for its data alone, by strace' asks_for_data_alone
sed 's/^/           | /' "$cache/syncs.txt"
check 'and does not say that it syncs by fsync' inside sh -c 'grep -q watches /run/hub.log && ! grep -q "by fsync" /run/hub.log'
# Signs in as a browser does and asks for the room until both probes have their values in it.
cat >"$tree/root/room.mjs" <<'END'
const [at, passphrase] = process.argv.slice(2);
const stranger = await fetch(`${at}/api/room`);
if (stranger.status !== 401) throw new Error(`without a sign-in: ${stranger.status}`);
const headers = { 'content-type': 'application/json' };
const sign = (word) => fetch(`${at}/api/session`, { method: 'POST', headers, body: JSON.stringify({ passphrase: word }) });
const wrong = await sign('another passphrase than that');
if (wrong.status !== 401) throw new Error(`with a wrong passphrase: ${wrong.status}`);
const cookie = (await sign(passphrase)).headers.getSetCookie()[0]?.split(';')[0];
for (let tries = 0, room = ''; ; tries += 1) {
  room = await (await fetch(`${at}/api/room`, { headers: { cookie } })).text();
  if (room.includes('25.41') && room.includes('352')) break;
  if (tries === 60) throw new Error(room);
  await new Promise((resolve) => setTimeout(resolve, 1000));
}
END
check 'the first passphrase opens /api/room and another does not; both probes show their values' \
  node_inside /root/room.mjs "http://127.0.0.1:$http" "$(cat "$tree/root/passphrase")"
phone_hears() {
  timeout 60 mosquitto_sub -p "$broker" -t brinekeep/phone -C 1 -W 50 >"$cache/phone.txt" &
  local listener=$!
  sleep 1
  mosquitto_pub -p "$broker" -q 1 -t brinekeep/command -m 'all well?'
  wait "$listener" && [ -s "$cache/phone.txt" ]
}
check "the phone's topic answers to \"all well?\"" phone_hears
sed 's/^/           | /' "$cache/phone.txt"

if [ -n "$older" ]; then
  check 'the newer archive is unpacked' unpack release
  was=$(readlink "$tree/opt/brinekeep/current")
  check 'an update from the older release stays' inside /root/release/deploy/update.sh
  tail -n 1 "$cache/last.log" | sed 's/^/           | /'
  check 'the newer release runs' test "$(readlink "$tree/opt/brinekeep/current")" != "$was"
  check 'it answers, with what the older one recorded' node_inside /root/room.mjs "http://127.0.0.1:$http" "$(cat "$tree/root/passphrase")"
fi
releases=$tree/opt/brinekeep/releases
old=$(readlink "$tree/opt/brinekeep/current")
copy_release() { rm -rf "${releases:?}/$1" && cp -a --reflink=auto "$tree/opt/brinekeep/$old" "$releases/$1"; }
copy_release broken
echo 'if (process.argv[2] === "run") process.exit(1); else await import("./whole.js");' >"$releases/broken/dist/hub/broken.js"
mv "$releases/broken/dist/hub/main.js" "$releases/broken/dist/hub/whole.js"
mv "$releases/broken/dist/hub/broken.js" "$releases/broken/dist/hub/main.js"
goes_back() {
  ! inside env BRINEKEEP_PATIENCE_SECONDS=20 /root/release/deploy/update.sh --release /opt/brinekeep/releases/broken >"$cache/update.log" 2>&1 &&
    cat "$cache/update.log" && grep -q 'NOT UPDATED: broken was not well; .* runs again' "$cache/update.log"
}
check 'an update to a broken release goes back by itself' goes_back
tail -n 2 "$cache/update.log" | sed 's/^/           | /'
check 'the old release answers again' health 2
check 'current names the old release' test "$(readlink "$tree/opt/brinekeep/current")" = "$old"
copy_release good
check 'an update to a good release stays' inside /root/release/deploy/update.sh --release /opt/brinekeep/releases/good
check 'the good release answers' health 2
check 'current names the good release' test "$(readlink "$tree/opt/brinekeep/current")" = releases/good

inside "$service" stop
kept() { (cd "$tree" && find etc/brinekeep var/lib/brinekeep -type f -print0 | LC_ALL=C sort -z | xargs -0 sha256sum); }
kept >"$cache/before.txt"
check 'the store has something to keep' grep -q brinekeep.db "$cache/before.txt"
check 'uninstall ends well' inside /root/release/deploy/install.sh --uninstall
kept >"$cache/after.txt"
check 'uninstall keeps configuration and readings as they are' diff "$cache/before.txt" "$cache/after.txt"
check 'uninstall leaves no program behind' test ! -e "$tree/opt/brinekeep" -a ! -e "$tree/usr/local/bin/brinekeep" -a \
  ! -e "$tree/etc/systemd/system/brinekeep.service" -a ! -e "$tree/etc/udev/rules.d/70-brinekeep.rules"
asks_first() { ! echo no | inside /root/release/deploy/install.sh --purge && [ -f "$tree/etc/brinekeep/brinekeep.yaml" ]; }
check 'purge asks, and takes no for an answer' asks_first
check 'purge after a yes leaves nothing' inside sh -c \
  'echo delete | /root/release/deploy/install.sh --purge && [ ! -e /etc/brinekeep ] && [ ! -e /var/lib/brinekeep ] && ! getent passwd brinekeep'

umount -R "$tree/dev" "$tree/proc"
rm -rf --one-file-system "$tree"
printf '%d passed, 0 failed in %d s\n' "$count" $((SECONDS - began))
