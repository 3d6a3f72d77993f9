# shellcheck shell=bash
# Releases side by side: /opt/brinekeep/releases/ID, and `current`, a link to the one that runs; the Nodes that they brought in
# /opt/brinekeep/node/VERSION. Sourced by install.sh, update.sh, configure.sh and backup.sh; it only defines.
#
# BRINEKEEP_ROOT is put before every path, so that all of it can be tried in a scratch folder.

root=${BRINEKEEP_ROOT:-}
opt=$root/opt/brinekeep
etc=$root/etc/brinekeep
var=$root/var/lib/brinekeep
config=$etc/brinekeep.yaml
user=brinekeep

say() { printf '%s\n' "$*"; }
complain() { printf '%s\n' "$*" >&2; }
fail() {
  complain "$*"
  exit 1
}

# As the hub's own user: what root writes into the store's folder the hub could not write again.
as_hub_user() {
  if [ "$(id -u)" = 0 ] && getent passwd "$user" >/dev/null; then
    setpriv --reuid="$user" --regid="$user" --init-groups -- "$@"
  else
    "$@"
  fi
}

# A verb of a release: brinekeep_of RELEASE ARGS...
brinekeep_of() {
  local release=$1
  shift
  as_hub_user env HOME="$var" BRINEKEEP_CONFIG="$config" "$release/bin/node" "$release/dist/hub/main.js" "$@"
}

# True for a Node that may run the hub: 22.14 or later, as package.json says under `engines`.
node_fits() {
  [ -x "$1" ] && "$1" -e 'const [a, b] = process.versions.node.split(".").map(Number);
    const version = a + b / 1000;
    process.exit(version >= 22.014 ? 0 : 1)' 2>/dev/null
}

# Refuses what is no release, with what to do.
need_release() {
  local source=$1
  if [ ! -f "$source/dist/hub/main.js" ] || [ ! -d "$source/dist/prebuilds" ] || [ -d "$source/hub" ]; then
    fail "$source is no release. Unpack brinekeep-VERSION-linux-ARCH.tar.gz and run its deploy/$(basename "$0"); in the source tree, \`npm run release\` makes one."
  fi
}

# Version and digest of the files: two releases of one version with other files are two.
release_id() {
  local source=$1 version digest
  version=$(sed -n 's/^  "version": "\([^"]*\)".*/\1/p' "$source/package.json" | head -n 1)
  [ -n "$version" ] || fail "$source/package.json: found no version. Is this a release of Brinekeep?"
  digest=$(cd "$source" && find . -path ./runtime -prune -o -type f -print0 | LC_ALL=C sort -z | xargs -0 sha256sum | sha256sum)
  printf '%s-%s\n' "$version" "${digest:0:12}"
}

# Copies FROM to TO, and says on a terminal how far it is.
copy_file() {
  local from=$1 to=$2 size copying
  size=$(stat -c %s "$from")
  cp "$from" "$to" &
  copying=$!
  while [ -t 1 ] && kill -0 "$copying" 2>/dev/null; do
    printf '\r  %3d %% of %d MB' $(($(stat -c %s "$to" 2>/dev/null || echo 0) * 100 / size)) $((size / 1000000))
    sleep 0.3
  done
  wait "$copying"
  if [ -t 1 ]; then printf '\r%30s\r' ''; fi
}

# The Node for a release: the one given, the one that it brought, one that is here already. Sets `node`.
bring_node() {
  local source=$1 given=$2 version own
  if [ -n "$given" ]; then
    node_fits "$given" || fail "$given: found no Node there that is 22.14 or later."
    node=$(realpath -s "$given")
  elif [ -x "$source/runtime/bin/node" ]; then
    node_fits "$source/runtime/bin/node" ||
      fail "The Node of this release does not run here. Is it the release for this processor ($(uname -m))?"
    version=$(cat "$source/runtime/VERSION")
    own=$opt/node/$version
    node=$own/bin/node
    if ! node_fits "$node"; then
      say "Copying Node $version"
      rm -rf "$own" "$own.unfinished"
      mkdir -p "$own.unfinished/bin"
      copy_file "$source/runtime/bin/node" "$own.unfinished/bin/node"
      cp "$source/runtime/LICENSE" "$own.unfinished/LICENSE"
      chmod 755 "$own.unfinished/bin/node"
      sync -f "$own.unfinished"
      mv -T "$own.unfinished" "$own"
    fi
  else
    for node in "$opt"/node/*/bin/node "$(command -v node || true)" ''; do
      if node_fits "$node"; then break; fi
    done
    [ -n "$node" ] || fail 'No Node 22.14 or later is here: take the release that brings one (brinekeep-VERSION-linux-ARCH.tar.gz), or name yours with --node.'
  fi
}

# Lays releases/ID out of an unpacked release. It gets its name when it is whole: what a power cut leaves is called unfinished.
# make_release SOURCE NODE; sets `release`.
make_release() {
  local source=$1 node=$2 id unfinished
  id=$(release_id "$source")
  release=$opt/releases/$id
  if [ -f "$release/package.json" ]; then
    say "Release $id is there already."
    return
  fi
  say "Copying release $id"
  unfinished=$opt/releases/.unfinished-$id
  rm -rf "$opt"/releases/.unfinished-*
  mkdir -p "$unfinished/bin"
  (cd "$source" && find . -mindepth 1 -maxdepth 1 ! -name runtime -exec cp -r -t "$unfinished" {} +)
  ln -s "$node" "$unfinished/bin/node"
  # The database loads here, or nothing that runs is changed.
  "$node" "$unfinished/dist/deploy/store-facts.mjs" sqlite >"$opt/install.log" 2>&1 ||
    fail "The database does not load with $node; its words are in $opt/install.log. Nothing that runs was changed."
  # Read by all, written by nobody but root, whatever the umask of the one who unpacked it.
  chown -R root:root "$unfinished" 2>/dev/null || true
  chmod -R u=rwX,go=rX "$unfinished"
  sync -f "$unfinished"
  mv -T "$unfinished" "$release"
}

# Nodes that no release needs any more.
drop_old_nodes() {
  local each
  for each in "$opt"/node/*; do
    if [ -d "$each" ] && ! readlink "$opt"/releases/*/bin/node | grep -q "^$each/"; then rm -rf "$each"; fi
  done
}

# One rename: at every moment `current` names a whole release.
switch_current() {
  local wanted=$1
  ln -sfn "releases/$(basename "$wanted")" "$opt/.current-next"
  mv -T "$opt/.current-next" "$opt/current"
  sync -f "$opt"
}

# Puts a file in place when it differs; tells by its result whether it did.
put_file() {
  local from=$1 to=$2
  if cmp -s "$from" "$to"; then return 1; fi
  install -D -m 644 "$from" "$to"
}

# The units of a release, so that they go forward and back with it.
put_units() {
  local release=$1 unit changed=no
  for unit in "$release"/deploy/systemd/*.service "$release"/deploy/systemd/*.timer; do
    [ -f "$unit" ] || continue
    if put_file "$unit" "$root/etc/systemd/system/$(basename "$unit")"; then changed=yes; fi
  done
  if [ "$changed" = yes ] && service_manager_runs; then systemctl daemon-reload; fi
  return 0
}

# A service manager that runs, not only one that is installed (sd_booted(3)).
service_manager_runs() { [ -z "$root" ] && [ -d /run/systemd/system ]; }

# How the hub is started and stopped. BRINEKEEP_SERVICE is another command for it, called with `start` or `stop`.
service() {
  if [ -n "${BRINEKEEP_SERVICE:-}" ]; then
    "$BRINEKEEP_SERVICE" "$1"
  elif service_manager_runs; then
    # Started without waiting: whether it is well is asked of the hub itself.
    if [ "$1" = start ]; then systemctl --no-block start brinekeep; else systemctl "$1" brinekeep; fi
  else
    fail "No service manager runs here, so nobody can $1 the hub. Set BRINEKEEP_SERVICE to a command that can."
  fi
}

# The release that `current` names; empty when there is none.
current_release() {
  if [ -L "$opt/current" ]; then printf '%s/%s\n' "$opt" "$(readlink "$opt/current")"; fi
}
