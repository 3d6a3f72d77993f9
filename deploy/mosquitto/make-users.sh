#!/usr/bin/env bash
# Gives users of the broker their passwords: make-users.sh FOLDER USER [USER...]
# Prints each new password once, on a line `user password`; FOLDER/passwords keeps only hashes. A user who is there already
# keeps the password.
set -euo pipefail
umask 077
if [ $# -lt 2 ]; then
  sed -n '2s/^# *.*: //p' "${BASH_SOURCE[0]}" >&2
  exit 2
fi
folder=$1
shift
passwords=$folder/passwords
touch "$passwords"
for user in "$@"; do
  if [[ ! $user =~ ^[a-z0-9][a-z0-9_-]{0,39}$ ]]; then
    printf '%s: need small letters, digits, - and _: the name is a level of the topics too\n' "$user" >&2
    exit 2
  fi
  if grep -q "^$user:" "$passwords"; then continue; fi
  password=$(openssl rand -hex 16)
  # By a file and not by -b: the words of a command line can be seen by every user of the machine.
  mine=$(mktemp)
  printf '%s:%s\n' "$user" "$password" >"$mine"
  mosquitto_passwd -U "$mine"
  cat "$mine" >>"$passwords"
  rm -f "$mine"
  printf '%s %s\n' "$user" "$password"
done
chmod 640 "$passwords"
if getent group mosquitto >/dev/null && [ "$(id -u)" = 0 ]; then chgrp mosquitto "$passwords"; fi
