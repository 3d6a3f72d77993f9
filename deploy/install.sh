#!/usr/bin/env bash
# Installs Brinekeep on Debian 12 or later, or one of its derivatives, out of the unpacked release this file lies in. It fetches
# and builds nothing.
#
#   sudo deploy/install.sh                     asks a question or two and starts the hub
#   sudo deploy/install.sh --answers FILE      asks nothing (see `brinekeep setup --help`)
#   sudo deploy/install.sh --no-config         leaves the configuration to you
#   sudo deploy/install.sh --node PATH         a Node that you have, 22.14 or later
#   sudo deploy/install.sh --passphrase-file F the first passphrase of the page, when nobody is there to type one
#   sudo deploy/install.sh --uninstall         removes the program; configuration, readings and user stay
#   sudo deploy/install.sh --purge             removes those too, after asking
#
# A second run changes nothing that is right already, and never touches an existing configuration.
set -euo pipefail
umask 022
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
# shellcheck source=deploy/release.sh
. "$here/release.sh"

usage() { sed -n '5,11s/^# \{0,1\}//p' "${BASH_SOURCE[0]}"; }

doing=install with_config=yes given_node='' answers='' passphrase_file='' yes=no
while [ $# -gt 0 ]; do
  case $1 in
    --node) given_node=${2:?--node needs a path} && shift ;;
    --answers) answers=$(realpath "${2:?--answers needs a file}") && shift ;;
    --passphrase-file) passphrase_file=$(realpath "${2:?--passphrase-file needs a file}") && shift ;;
    --no-config) with_config=no ;;
    --uninstall) doing=uninstall ;;
    --purge) doing=purge ;;
    --yes) yes=yes ;;
    -h | --help) usage && exit 0 ;;
    *)
      complain "$1: no such flag"
      usage >&2
      exit 2
      ;;
  esac
  shift
done
[ "$(id -u)" = 0 ] || fail 'Run it as root: it makes a user and a service.'

uninstall() {
  if service_manager_runs; then
    systemctl disable --now brinekeep.service brinekeep-backup.timer 2>/dev/null || true
  else
    systemctl disable brinekeep.service brinekeep-backup.timer 2>/dev/null || true
  fi
  rm -f "$root"/etc/systemd/system/brinekeep{.service,-backup.service,-backup.timer} \
    "$root/etc/udev/rules.d/70-brinekeep.rules" "$root/etc/systemd/journald.conf.d/brinekeep.conf" \
    "$root/usr/local/bin/brinekeep"
  rm -rf "$opt"
  if service_manager_runs; then systemctl daemon-reload; fi
  say "The program is removed. Configuration ($etc), readings ($var) and the user $user stay."
}

purge() {
  if [ "$yes" = no ]; then
    say "This deletes every reading, test and alarm in $var and the configuration in $etc, for good."
    printf 'Type delete to go on: '
    read -r word || word=''
    [ "$word" = delete ] || fail 'Nothing was deleted.'
  fi
  uninstall
  rm -rf "$etc" "$var"
  if getent passwd "$user" >/dev/null; then userdel "$user"; fi
  say 'Configuration, readings and user are deleted.'
}

case $doing in
  uninstall) uninstall && exit 0 ;;
  purge) purge && exit 0 ;;
esac

make_user() {
  if ! getent passwd "$user" >/dev/null; then
    useradd --system --user-group --home-dir "$var" --no-create-home --shell /usr/sbin/nologin "$user"
    say "Made the user $user."
  fi
  # Serial ports belong to this group on Debian.
  if ! id -nG "$user" | tr ' ' '\n' | grep -qx dialout; then usermod --append --groups dialout "$user"; fi
}

make_folders() {
  install -d -m 755 "$opt" "$opt/releases"
  install -d -m 750 -o root -g "$user" "$etc"
  install -d -m 700 -o "$user" -g "$user" "$var" "$var/backups"
}

put_system_files() {
  put_units "$release"
  if put_file "$release/deploy/udev/70-brinekeep.rules" "$root/etc/udev/rules.d/70-brinekeep.rules"; then
    if service_manager_runs; then udevadm control --reload && udevadm trigger --subsystem-match=tty; fi
  fi
  if put_file "$release/deploy/journald/brinekeep.conf" "$root/etc/systemd/journald.conf.d/brinekeep.conf"; then
    if service_manager_runs; then systemctl restart systemd-journald; fi
  fi
  if put_file "$release/deploy/brinekeep-command.sh" "$root/usr/local/bin/brinekeep"; then
    chmod 755 "$root/usr/local/bin/brinekeep"
  fi
}

command -v systemctl >/dev/null || fail 'systemctl is missing: this installer needs systemd.'
case $(dpkg --print-architecture) in
  amd64 | arm64) ;;
  *) fail "Brinekeep runs on 64-bit x86 and ARM; this system is $(dpkg --print-architecture). 32-bit ARM is not supported: most such boards run a 64-bit system as well." ;;
esac
source=$(cd "$here/.." && pwd)
need_release "$source"
make_user
make_folders
bring_node "$source" "$given_node"
say "Node $("$node" --version): $node"
make_release "$source" "$node"
# An installed hub goes forward by update.sh alone, which can go back.
if [ -z "$(current_release)" ]; then
  switch_current "$release"
elif [ "$(readlink -f "$opt/current")" != "$(readlink -f "$release")" ]; then
  fail "Another release runs ($(basename "$(current_release)")). Go forward with: $here/update.sh"
fi
put_system_files
systemctl enable --quiet brinekeep.service
flags=()
if [ "$with_config" = no ]; then flags+=(--no-config); fi
if [ -n "$answers" ]; then flags+=(--answers "$answers"); fi
if [ -n "$passphrase_file" ]; then flags+=(--passphrase-file "$passphrase_file"); fi
"$release/deploy/configure.sh" "${flags[@]}"
