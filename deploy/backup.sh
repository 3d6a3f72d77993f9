#!/usr/bin/env bash
# Copies the store to a second disk, or over ssh to another machine. Run every night by brinekeep-backup.timer; what it needs
# to know stands in /etc/brinekeep/backup.env (see backup.env.example beside this file):
#
#   BACKUP_TO        a folder on the second disk, or user@host:folder
#   BACKUP_SSH_KEY   for the latter: the key file;  BACKUP_SSH_PORT, BACKUP_KNOWN_HOSTS
#
# A copy has a slot of its weekday, and one of its month on the first day that a copy is made in it: at most 7 + 12 copies,
# each replaced by its successor only when that one is whole. It refuses a folder that lies on the disk of the system or of
# the store: a second disk that is not mounted would else fill the card.
# Exit 0 when a copy was made and compared, 1 with the reason when not.
set -euo pipefail
umask 077
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
# shellcheck source=deploy/release.sh
. "$here/release.sh"

to=${BACKUP_TO:-}
[ -n "$to" ] || fail 'BACKUP_TO is not set: say in backup.env where the copies go.'
[ -f "$config" ] || fail "$config is missing."
this=$(cd "$here/.." && pwd)
store=$("$this/bin/node" "$this/dist/deploy/store-facts.mjs" path "$config")
[ -f "$store" ] || fail "$store: there is no store yet."

# Room for the whole copy and something beside it.
need_bytes=$(($(stat -c %s "$store") + $(stat -c %s "$store-wal" 2>/dev/null || echo 0) + 16777216))
has_room() {
  local free
  free=$(df --output=avail -B1 "$1" | tail -n 1)
  [ "$free" -gt "$need_bytes" ] ||
    fail "$1: $((free / 1000000)) MB are free and $((need_bytes / 1000000)) are needed. Nothing was copied."
}

day=day-$(date +%u)
month=month-$(date +%m)

# Copies FILE to FOLDER/NAME: whole and compared under another name first.
copy_whole() {
  local file=$1 folder=$2 name=$3
  cp "$file" "$folder/.$name.unfinished"
  sync "$folder/.$name.unfinished"
  cmp -s "$file" "$folder/.$name.unfinished" || fail "$folder: what was written is not what is read back. Is the disk sound?"
  mv "$folder/.$name.unfinished" "$folder/$name"
}

to_disk() {
  local disk near copy
  [ -d "$to" ] || fail "$to: there is no such folder. Is the disk mounted?"
  disk=$(stat -c %d "$to")
  for near in "${BACKUP_SYSTEM_DISK:-/}" "$(dirname "$store")"; do
    [ "$disk" != "$(stat -c %d "$near")" ] || fail "$to lies on the same disk as $near. Is the second disk mounted? Nothing was copied."
  done
  has_room "$to"
  copy=$to/.copy-unfinished.db
  rm -f "$copy"
  # Straight to the second disk: the card takes no second copy. The verb reads the copy through before it counts.
  "$this/bin/node" "$this/dist/hub/main.js" backup "$copy" --config "$config" >/dev/null || fail 'The copy could not be made.'
  sync "$copy"
  mv "$copy" "$to/$day.db"
  copy_whole "$config" "$to" "$day.yaml"
  # The month's slot holds the first copy of this month; one that is older than 45 days is last year's.
  if [ -z "$(find "$to/$month.db" -mtime -45 2>/dev/null)" ]; then
    has_room "$to"
    copy_whole "$to/$day.db" "$to" "$month.db"
    copy_whole "$config" "$to" "$month.yaml"
  fi
}

over_ssh() {
  local folder differing slots=("$day") ssh
  folder=$(mktemp -d "$var/backups/sending-XXXXXX")
  # shellcheck disable=SC2064 # the folder of now
  trap "rm -rf '$folder'" EXIT
  has_room "$folder"
  "$this/bin/node" "$this/dist/hub/main.js" backup "$folder/$day.db" --config "$config" >/dev/null ||
    fail 'The copy could not be made.'
  cp "$config" "$folder/$day.yaml"
  # The far side cannot be listed with the restricted key, so the month's slot is sent on the first three days.
  if [ "$(date +%-d)" -le 3 ]; then
    ln "$folder/$day.db" "$folder/$month.db"
    cp "$config" "$folder/$month.yaml"
    slots+=("$month")
  fi
  ssh="ssh -p ${BACKUP_SSH_PORT:-22} -i ${BACKUP_SSH_KEY:-$etc/backup_key} -o BatchMode=yes -o IdentitiesOnly=yes"
  ssh="$ssh -o StrictHostKeyChecking=yes -o UserKnownHostsFile=${BACKUP_KNOWN_HOSTS:-$etc/backup_known_hosts}"
  ssh="$ssh -o ConnectTimeout=30 -o ServerAliveInterval=30"
  # rsync gives a file its name when it is whole.
  rsync --rsh="$ssh" --times --timeout=300 "$folder"/*.db "$folder"/*.yaml "$to/" || fail "$to: could not be reached or written."
  # Compared by checksum on both sides; nothing is sent.
  differing=$(rsync --rsh="$ssh" --checksum --dry-run --out-format=%n --timeout=3600 "$folder"/*.db "$folder"/*.yaml "$to/") ||
    fail "$to: the copy could not be compared."
  [ -z "$differing" ] || fail "$to: differs from what was sent: $differing"
  say "Sent: ${slots[*]}"
}

case $to in
  /*) to_disk ;;
  *@*:* | *:*) over_ssh ;;
  *) fail "BACKUP_TO: found \"$to\", need a folder from / on, or user@host:folder." ;;
esac
# Its age tells whether the copies still work.
touch "$var/backups/last-copy"
say "Copied and compared: $to ($day)."
