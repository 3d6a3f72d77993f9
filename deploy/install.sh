#!/usr/bin/env bash
# Installs Brinekeep on Debian 12 or later, or one of its derivatives, out of the source tree this file lies in.
#
#   sudo deploy/install.sh                     asks a question or two and starts the hub
#   sudo deploy/install.sh --answers FILE      asks nothing (see `brinekeep setup --help`)
#   sudo deploy/install.sh --no-config         leaves the configuration to you
#   sudo deploy/install.sh --node PATH         a Node that you have, 22.14 or later
#   sudo deploy/install.sh --built             the tree has been built (npm ci); only what runs is fetched
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

usage() { sed -n '4,11s/^# \{0,1\}//p' "${BASH_SOURCE[0]}"; }

doing=install with_built=no with_config=yes given_node='' answers='' passphrase_file='' yes=no
while [ $# -gt 0 ]; do
  case $1 in
    --node) given_node=${2:?--node needs a path} && shift ;;
    --answers) answers=$(realpath "${2:?--answers needs a file}") && shift ;;
    --passphrase-file) passphrase_file=$(realpath "${2:?--passphrase-file needs a file}") && shift ;;
    --built) with_built=yes ;;
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

apt_install() {
  local wanted=() package
  for package in "$@"; do
    # dpkg -s also knows packages that were removed.
    dpkg-query -W -f '${db:Status-Abbrev}' "$package" 2>/dev/null | grep -q '^ii' || wanted+=("$package")
  done
  [ ${#wanted[@]} -gt 0 ] || return 0
  say "Installing from the distribution: ${wanted[*]}"
  [ -n "${is_apt_updated:-}" ] || apt-get update -qq
  is_apt_updated=yes
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${wanted[@]}" >/dev/null
}

# Finds a Node 22.14 or later, or brings one: from the distribution where that fits (Debian 13), else from the
# npm registry into /opt/brinekeep/node, with npm's own check of its digest. Sets `node` and `npm`.
bring_node() {
  local own=$opt/node/node_modules arch candidate
  case $(dpkg --print-architecture) in
    amd64) arch=x64 ;;
    arm64) arch=arm64 ;;
    *) arch='' ;;
  esac
  if [ -n "$given_node" ]; then
    node_fits "$given_node" || fail "$given_node: found no Node there that is 22.14 or later."
    node=$(realpath -s "$given_node")
  elif node_fits "$own/node-linux-$arch/bin/node"; then
    node=$own/node-linux-$arch/bin/node
  elif node_fits "$(command -v node || true)"; then
    node=$(command -v node)
  else
    apt-get update -qq
    is_apt_updated=yes
    candidate=$(apt-cache policy nodejs | sed -n 's/^  Candidate: \([0-9.]*\).*/\1/p')
    if [ -n "$candidate" ] && dpkg --compare-versions "$candidate" ge 22.14; then
      apt_install nodejs npm
      node=/usr/bin/node
    else
      [ -n "$arch" ] || fail 'There is no ready Node for this processor: install 22.14 or later and name it with --node.'
      # npm of the distribution runs on the distribution's old Node, and is needed for this one fetch only.
      apt_install ca-certificates npm
      say "Bringing Node 24 into $opt/node: the distribution's own is ${candidate:-missing}."
      mkdir -p "$opt/node"
      npm install --prefix "$opt/node" --no-save --no-fund --no-audit --loglevel=error \
        "node-linux-$arch@24.21.0" 'npm@11' >/dev/null
      node=$own/node-linux-$arch/bin/node
      node_fits "$node" || fail "$node: what was fetched is no Node 22.14 or later."
    fi
  fi
  npm=$(find_npm) || fail "No npm was found beside $node: install the distribution's package npm."
  say "Node: $node ($("$node" --version))"
}

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

# Asks (or reads the answers) as the hub's user, who may use the serial ports, in a folder that this user owns.
make_config() {
  local first=$var/first-configuration.yaml flags=()
  if [ -e "$config" ]; then
    say "$config is there: left as it is."
    return
  fi
  if [ "$with_config" = no ]; then
    say "No configuration was made. Make one with: brinekeep setup $var/new.yaml, then put it to $config"
    return
  fi
  if [ -n "$answers" ]; then
    install -m 600 -o "$user" -g "$user" "$answers" "$var/answers.yaml"
    flags=(--answers "$var/answers.yaml" --unattended)
  fi
  rm -f "$first"
  brinekeep_of "$release" setup "$first" --data-dir "$var" "${flags[@]}" ||
    fail "No configuration was made. The program is installed; run this again, or write $config yourself."
  # The hub may write it: what somebody who may configure changes on the page.
  install -m 660 -o root -g "$user" "$first" "$config"
  rm -f "$first" "$var/answers.yaml"
  say "Wrote $config."
}

# The page's first passphrase, where this release knows such a thing and none was set.
set_passphrase() {
  local done_mark=$var/.passphrase-asked verbs
  if [ ! -f "$config" ] || [ -e "$done_mark" ]; then return; fi
  # Whole first: a pipe that is closed early would look like a verb that is missing.
  verbs=$(brinekeep_of "$release" --help)
  grep -q '^ *passphrase ' <<<"$verbs" || return 0
  if [ -n "$passphrase_file" ]; then
    brinekeep_of "$release" passphrase "$config" --stdin <"$passphrase_file"
  elif [ -t 0 ]; then
    say 'The passphrase that opens the page from other devices:'
    brinekeep_of "$release" passphrase "$config" || complain "No passphrase was set. Later: brinekeep passphrase $config"
  else
    say "No passphrase was set: the page answers on this machine only. Later: brinekeep passphrase $config"
    return
  fi
  as_hub_user touch "$done_mark"
}

start_hub() {
  systemctl enable --quiet brinekeep.service
  if ! service_manager_runs; then
    say 'systemd is installed but does not run here: the service is enabled and starts with the machine.'
    return
  fi
  [ -f "$config" ] || return 0
  systemctl start brinekeep
  local health=0
  "$release/bin/node" "$release/deploy/ask-health.mjs" "$config" 60 >/dev/null || health=$?
  if [ "$health" = 0 ]; then
    say 'The hub runs.'
  elif [ "$health" = 3 ]; then
    fail "Nobody watches yet: the hub waits for $config to be mended. See: brinekeep check $config"
  else
    fail 'The hub does not answer. Look at: journalctl -u brinekeep -n 50'
  fi
}

command -v systemctl >/dev/null || fail 'systemctl is missing: this installer needs systemd.'
bring_node
apt_install ca-certificates
make_user
make_folders
make_release "$(cd "$here/.." && pwd)" "$node" "$npm" "$with_built"
# An installed hub goes forward by update.sh alone, which can go back.
if [ -z "$(current_release)" ]; then
  switch_current "$release"
elif [ "$(readlink -f "$opt/current")" != "$(readlink -f "$release")" ]; then
  fail "Another release runs ($(basename "$(current_release)")). Go forward with: $here/update.sh"
fi
put_system_files
make_config
set_passphrase
start_hub
say "Done. Configuration: $config. Log: journalctl -u brinekeep. Check: brinekeep check $config"
