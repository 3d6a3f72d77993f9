#!/usr/bin/env bash
# Makes the configuration of an installed hub with the probes at hand, sets the first passphrase, starts the hub, and says what
# comes next. Run by install.sh; after the Debian package by hand:
#
#   sudo configure.sh                     asks a question or two
#   sudo configure.sh --answers FILE      asks nothing (see `brinekeep setup --help`)
#   sudo configure.sh --no-config         leaves the configuration to you
#   sudo configure.sh --passphrase-file F the first passphrase of the page, when nobody is there to type one
set -euo pipefail
umask 022
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
# shellcheck source=deploy/release.sh
. "$here/release.sh"
release=$(cd "$here/.." && pwd)

with_config=yes answers='' passphrase_file=''
while [ $# -gt 0 ]; do
  case $1 in
    --answers) answers=$(realpath "${2:?--answers needs a file}") && shift ;;
    --passphrase-file) passphrase_file=$(realpath "${2:?--passphrase-file needs a file}") && shift ;;
    --no-config) with_config=no ;;
    -h | --help) sed -n '5,8s/^# \{0,1\}//p' "${BASH_SOURCE[0]}" && exit 0 ;;
    *) complain "$1: no such flag" && exit 2 ;;
  esac
  shift
done
[ "$(id -u)" = 0 ] || fail 'Run it as root: it writes the configuration and starts the service.'

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

# The page's first passphrase, where none was set.
set_passphrase() {
  local done_mark=$var/.passphrase-asked
  if [ ! -f "$config" ] || [ -e "$done_mark" ]; then return; fi
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
  if ! service_manager_runs; then
    say 'systemd is installed but does not run here: the service is enabled and starts with the machine.'
    return
  fi
  [ -f "$config" ] || return 0
  systemctl start brinekeep
  local health=0
  "$release/bin/node" "$release/dist/deploy/ask-health.mjs" "$config" 60 >/dev/null || health=$?
  if [ "$health" = 0 ]; then
    say 'The hub runs.'
  elif [ "$health" = 3 ]; then
    fail "Nobody watches yet: the hub waits for $config to be corrected. See: brinekeep check $config"
  else
    fail 'The hub does not answer. Look at: journalctl -u brinekeep -n 50'
  fi
}

# Where the page is, what to try, what to do next.
say_next() {
  [ -f "$config" ] || return 0
  local port name
  port=$(sed -n 's/^ *port: *\([0-9]*\) *$/\1/p; s/.*http:.*port: *\([0-9]*\).*/\1/p' "$config" | head -n 1)
  # Other devices get in once there is a passphrase.
  name=localhost
  if [ -e "$var/.passphrase-asked" ]; then name=$(hostname); fi
  say ''
  say "The page:  http://$name:${port:-8740}"
  say 'Try:       brinekeep calc salinity --conductivity_mS_cm 53 --temperature_C 25'
  say 'Next:      open the page, log a first alkalinity test, and set up a phone (deploy/docs/phone.md).'
  say "Files:     $config (check it: sudo brinekeep check $config); log: journalctl -u brinekeep"
}

make_config
set_passphrase
start_hub
say_next
