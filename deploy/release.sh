# shellcheck shell=bash
# Releases side by side: /opt/brinekeep/releases/ID, and `current`, a link to the one that runs. Sourced by install.sh and
# update.sh; it only defines.
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

# The npm that goes with `node`, as a script for it.
find_npm() {
  local place prefix
  prefix=$(dirname "$(dirname "$(readlink -f "$node")")")
  for place in "$opt/node/node_modules/npm" "$prefix/lib/node_modules/npm" /usr/share/nodejs/npm \
    "$(readlink -f "$(command -v npm 2>/dev/null)" 2>/dev/null | sed 's|/bin/npm-cli.js$||')"; do
    if [ -f "$place/bin/npm-cli.js" ]; then
      printf '%s\n' "$place/bin/npm-cli.js"
      return 0
    fi
  done
  return 1
}

# The files that make a release, by name, relative to the source tree. Tests and pictures are not among them.
source_files() {
  local source=$1 with_built=$2 folder folders=()
  for folder in rules adapters hub fixtures deploy dist; do
    if [ "$folder" = dist ] && [ "$with_built" = no ]; then continue; fi
    if [ -d "$source/$folder" ]; then folders+=("./$folder"); fi
  done
  (
    cd "$source" || exit
    find . -maxdepth 1 -type f ! -name '.*'
    find "${folders[@]}" \( -path ./deploy/docs -o -name node_modules \) -prune -o -type f -print
  ) | LC_ALL=C sort
}

# Version and digest of the sources: two builds of one version with other sources are two releases.
release_id() {
  local source=$1 with_built=$2 version digest
  version=$(sed -n 's/^  "version": "\([^"]*\)".*/\1/p' "$source/package.json" | head -n 1)
  [ -n "$version" ] || fail "$source/package.json: found no version. Is this the source tree of Brinekeep?"
  digest=$(cd "$source" && source_files . "$with_built" | tr '\n' '\0' | xargs -0 sha256sum | sha256sum)
  printf '%s-%s\n' "$version" "${digest:0:12}"
}

# Builds releases/ID out of a source tree. It gets its name when it is whole: what a power cut leaves is called unfinished.
# make_release SOURCE NODE NPM WITH_BUILT; sets `release`.
make_release() {
  local source=$1 node=$2 npm=$3 with_built=$4 id unfinished
  id=$(release_id "$source" "$with_built")
  release=$opt/releases/$id
  if [ -f "$release/package.json" ]; then
    say "Release $id is there already."
    return
  fi
  say "Building release $id (some minutes on a small board)."
  unfinished=$opt/releases/.unfinished-$id
  rm -rf "$opt"/releases/.unfinished-*
  mkdir -p "$unfinished/bin"
  (cd "$source" && source_files . "$with_built" | tr '\n' '\0' | xargs -0 cp --parents -t "$unfinished")
  ln -s "$node" "$unfinished/bin/node"
  (
    cd "$unfinished"
    # lib first: npm's own scripts call `node`.
    PATH=$unfinished/bin:$PATH
    export PATH npm_config_fund=false npm_config_audit=false npm_config_update_notifier=false
    export npm_config_cache=$opt/.npm-cache
    if [ "$with_built" = yes ]; then
      "$node" "$npm" ci --omit=dev --ignore-scripts
    else
      "$node" "$npm" ci
      "$node" "$npm" prune --omit=dev --ignore-scripts
    fi
  ) >"$opt/build.log" 2>&1 || {
    tail -n 30 "$opt/build.log" >&2
    fail "The build failed; all of its words are in $opt/build.log. Nothing that runs was changed."
  }
  rm -rf "$opt/.npm-cache"
  # Read by all, written by nobody but root, whatever the umask of the one who installs.
  chmod -R u=rwX,go=rX "$unfinished"
  sync -f "$unfinished"
  mv -T "$unfinished" "$release"
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
