#!/usr/bin/env bash
# Makes buckets, a token that may only write, and the task, on an InfluxDB 2 that has been set up (`influx setup --org
# fishroom`) and whose operator token the influx CLI knows. What is there already is left as it is.
# Not run against a real InfluxDB 2: see README.md.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
org=fishroom

command -v influx >/dev/null || {
  echo 'The influx CLI is missing: it comes with InfluxDB 2.' >&2
  exit 1
}

# NAME RETENTION
make_bucket() {
  if influx bucket list --org "$org" --hide-headers --name "$1" >/dev/null 2>&1; then
    echo "Bucket $1 is there."
  else
    influx bucket create --org "$org" --name "$1" --retention "$2" >/dev/null
    echo "Made bucket $1, which keeps for $2."
  fi
}
make_bucket brinekeep 90d
make_bucket brinekeep-long 3650d

if influx task list --org "$org" --hide-headers | grep -q brinekeep-ten-minutes; then
  echo 'The task is there.'
else
  influx task create --org "$org" --file "$here/downsample.flux" >/dev/null
  echo 'Made the task brinekeep-ten-minutes.'
fi

if influx auth list --hide-headers | grep -q 'brinekeep hub'; then
  echo 'The token of the hub is there; it cannot be shown again.'
else
  bucket=$(influx bucket list --org "$org" --hide-headers --name brinekeep | cut -f 1)
  echo 'Made the token of the hub; its third column goes into /etc/brinekeep/influx-token:'
  influx auth create --org "$org" --description 'brinekeep hub' --write-bucket "$bucket" --hide-headers
fi
