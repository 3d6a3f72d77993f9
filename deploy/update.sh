#!/usr/bin/env bash
# Goes forward to another release, and back by itself when that one is not well within a minute.
#
#   sudo deploy/update.sh                    to the unpacked release this file lies in
#   sudo deploy/update.sh --release FOLDER   to a release that is there already, also an older one
#
# The store is backed up first. On the way back it is restored from that backup only when the new release has changed its
# schema: the old one could not open it. The store that the new release wrote then stays beside it under another name.
# A hub that waits for its configuration to be corrected is no fault of a release when no release accepts that file.
# Exit 0: the new release runs. Exit 1: nothing was changed, or the old one runs again; the last line says which.
set -euo pipefail
umask 022
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
# shellcheck source=deploy/release.sh
. "$here/release.sh"

given_node='' wanted='' patience_s=${BRINEKEEP_PATIENCE_SECONDS:-60} settle_s=${BRINEKEEP_SETTLE_SECONDS:-5}
releases_kept=3
while [ $# -gt 0 ]; do
  case $1 in
    --node) given_node=${2:?--node needs a path} && shift ;;
    --release) wanted=$(realpath "${2:?--release needs a folder}") && shift ;;
    -h | --help) sed -n '4,5s/^# \{0,1\}//p' "${BASH_SOURCE[0]}" && exit 0 ;;
    *) complain "$1: no such flag" && exit 2 ;;
  esac
  shift
done

old=$(current_release)
if [ ! -d "$old" ]; then fail "Nothing is installed in $opt. Begin with: $here/install.sh"; fi
[ -f "$config" ] || fail "$config is missing, so there is no hub to ask whether it is well. Nothing was changed."

# One at a time: two of them would each go back to the other's release.
exec 9>"$opt/.update-lock"
flock -n 9 || fail 'Another update is on its way. Nothing was changed.'

if [ -z "$wanted" ]; then
  source=$(cd "$here/.." && pwd)
  need_release "$source"
  bring_node "$source" "$given_node"
  make_release "$source" "$node"
  wanted=$release
fi
case $wanted in "$(realpath "$opt")"/releases/*) ;; *) fail "$wanted: found no folder below $opt/releases. Nothing was changed." ;; esac
if [ ! -x "$wanted/bin/node" ] || [ ! -f "$wanted/dist/hub/main.js" ]; then
  fail "$wanted: that is no whole release. Nothing was changed."
fi
if [ "$wanted" = "$(realpath "$old")" ]; then
  say "$(basename "$old") runs already. Nothing was changed."
  exit 0
fi
new=$wanted
# Relative paths of the configuration count from here, as they do for the service.
cd "$var"

# A configuration that the new release refuses is told before the watch stops for even a second.
accepts() { brinekeep_of "$1" check "$config"; }
if ! accepts "$new"; then
  if accepts "$old" >/dev/null 2>&1; then fail "$(basename "$new") does not accept $config. Nothing was changed."; fi
  fail "Neither $(basename "$new") nor $(basename "$old") accepts $config: correct it first (brinekeep check $config). Nothing was changed."
fi

# By the new release: the old one may have such scripts in another place.
facts() { as_hub_user "$new/bin/node" "$new/dist/deploy/store-facts.mjs" "$@"; }
store=$(facts path "$config")
schema() { facts schema "$1"; }
backup=''
if [ -f "$store" ]; then
  backup=$var/backups/before-$(basename "$new")-$(date -u +%Y%m%dT%H%M%SZ).db
  # The old one cannot, when the configuration has been written for the new one already.
  brinekeep_of "$old" backup "$backup" --config "$config" || brinekeep_of "$new" backup "$backup" --config "$config" ||
    fail 'The backup failed, so nothing was changed.'
fi

# Sets `health` to what is to be known of a hub: 0 well, 3 waits for its configuration, else not well. Asked by the scripts of
# the new release: an old one may not know of waiting.
ask_health() { health=0 && "$new/bin/node" "$new/dist/deploy/ask-health.mjs" "$config" "$1" "$settle_s" >/dev/null || health=$?; }

go_back() {
  # Nothing may stop it half way. Handled and not ignored: what is started here would inherit an ignored signal, and a hub
  # that is deaf to SIGTERM cannot be stopped.
  trap - EXIT
  trap : INT TERM HUP
  set +e
  complain "Going back to $(basename "$old")."
  service stop 9>&-
  switch_current "$old"
  put_units "$old"
  if [ -n "$backup" ] && [ "$(schema "$store")" != "$(schema "$backup")" ]; then
    complain "The new release had changed the store's schema: the store of before is restored from $backup."
    complain 'What was recorded since then stands in the file that the next line names.'
    brinekeep_of "$old" restore "$backup" --config "$config" >&2 ||
      brinekeep_of "$new" restore "$backup" --config "$config" >&2 ||
      complain "RESTORING FAILED. By hand, with the hub stopped: brinekeep restore $backup"
  fi
  service start 9>&-
  # Never less than a minute: there is nothing else to go to.
  ask_health 60
  if [ "$health" = 0 ]; then fail "NOT UPDATED: $(basename "$new") was not well; $(basename "$old") runs again."; fi
  if [ "$health" = 3 ]; then
    fail "NOT UPDATED, AND NOBODY WATCHES: $(basename "$new") was not well; $(basename "$old") waits for $config to be corrected. See: brinekeep check $config"
  fi
  fail "NOT UPDATED, AND NOBODY WATCHES: $(basename "$new") was not well, and $(basename "$old") does not answer either. Look at: journalctl -u brinekeep -n 50"
}

say "From $(basename "$old") to $(basename "$new")."
# From here on every way out that is not the good one leads back, also the one by Ctrl-C.
trap go_back EXIT
trap 'exit 1' INT TERM HUP
service stop 9>&-
switch_current "$new"
put_units "$new"
service start 9>&-
ask_health "$patience_s"
verdict="UPDATED: $(basename "$new") runs."
if [ "$health" = 3 ] && ! accepts "$new" && ! accepts "$old" >/dev/null 2>&1; then
  verdict="UPDATED, BUT NOBODY WATCHES: $config was changed meanwhile, and $(basename "$new") waits for it to be corrected. See: brinekeep check $config."
elif [ "$health" != 0 ]; then
  exit 1
fi
trap - EXIT INT TERM HUP

# What this release and the ones before it leave behind stays bounded; the one to go back to by hand is kept.
find "$opt/releases" -mindepth 1 -maxdepth 1 -type d ! -name '.*' -printf '%C@ %p\n' | sort -rn | cut -d' ' -f2- |
  tail -n +$((releases_kept + 1)) | while read -r each; do
  if [ "$each" != "$(realpath "$new")" ] && [ "$each" != "$(realpath "$old")" ]; then rm -rf "$each"; fi
done
find "$var/backups" -maxdepth 1 -name 'before-*.db' -printf '%T@ %p\n' 2>/dev/null | sort -rn | cut -d' ' -f2- |
  tail -n +$((releases_kept + 1)) | while read -r each; do rm -f "$each"; done
drop_old_nodes
say "$verdict To go back by hand: $here/update.sh --release $old"
