#!/usr/bin/env bash
# Makes an authority of your own and a server certificate for the broker.
#
#   make-certificates.sh FOLDER NAME [NAME...]     names and addresses by which devices call the broker
#
# ca.key signs new certificates: keep it off the broker once this is done. An authority that is there is used again, so that
# the devices need no new ca.crt; a new server certificate replaces the old one. The authority lasts ten years, the server
# certificate two: run it again before, and restart the broker.
set -euo pipefail
umask 077
if [ $# -lt 2 ]; then
  sed -n '4s/^# *//p' "${BASH_SOURCE[0]}" >&2
  exit 2
fi
folder=$1
shift
mkdir -p "$folder"
cd "$folder"

names=''
for name in "$@"; do
  if [[ $name =~ ^[0-9.]+$ || $name == *:* ]]; then kind=IP; else kind=DNS; fi
  names=${names:+$names,}$kind:$name
done

if [ ! -f ca.key ]; then
  openssl genpkey -quiet -algorithm EC -pkeyopt ec_paramgen_curve:prime256v1 -out ca.key
  openssl req -x509 -new -key ca.key -days 3650 -subj '/CN=Fish room authority' \
    -addext 'basicConstraints=critical,CA:TRUE,pathlen:0' -addext 'keyUsage=critical,keyCertSign,cRLSign' -out ca.crt
fi
openssl genpkey -quiet -algorithm EC -pkeyopt ec_paramgen_curve:prime256v1 -out server.key.new
openssl req -new -key server.key.new -subj "/CN=$1" -out server.csr
openssl x509 -req -in server.csr -CA ca.crt -CAkey ca.key -CAcreateserial -days 730 -out server.crt.new -extfile <(
  printf '%s\n' "subjectAltName=$names" 'basicConstraints=critical,CA:FALSE' 'keyUsage=critical,digitalSignature' \
    'extendedKeyUsage=serverAuth'
) 2>/dev/null
openssl verify -CAfile ca.crt server.crt.new >/dev/null
mv server.key.new server.key
mv server.crt.new server.crt
rm -f server.csr
chmod 644 ca.crt server.crt
chmod 640 server.key
if getent group mosquitto >/dev/null && [ "$(id -u)" = 0 ]; then chgrp mosquitto . server.key && chmod 750 .; fi
printf 'Made for %s. Give ca.crt to every device; keep ca.key away from the broker.\n' "$names"
