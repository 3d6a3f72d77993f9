// The two Debian packages: brinekeep, and brinekeep-node for where the distribution's Node is older than 22.14.
import { chmodSync, cpSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { run } from './run.mjs';

const maintainer = 'Brinekeep <brinekeep@localhost>';
const here = import.meta.dirname;

function write(path, text, mode = 0o644) {
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, text);
  chmodSync(path, mode);
}

function control(fields) {
  return `${Object.entries(fields)
    .map(([key, value]) => `${key}: ${value}`)
    .join('\n')}\n`;
}

function pack(tree, target, atS, packing) {
  // Programs keep their x; nothing depends on the umask of the one who builds.
  run('chmod', ['-R', 'u=rwX,go=rX', tree]);
  run('dpkg-deb', ['--root-owner-group', `-Z${packing}`, '-z6', '--threads-max=1', '--build', tree, target], {
    env: { ...process.env, SOURCE_DATE_EPOCH: String(atS) },
  });
}

/** What the installer lays below /opt lies below /usr/lib here. */
const moved = (text) => text.replaceAll('/opt/brinekeep/current', '/usr/lib/brinekeep');

/** @param staged  the files of the program, for one processor */
export function buildProgramPackage({ staged, work, target, version, processor, atS, sizeKB }) {
  const tree = join(work, `deb-${processor}`);
  const home = join(tree, 'usr/lib/brinekeep');
  rmSync(tree, { recursive: true, force: true });
  mkdirSync(home, { recursive: true });
  cpSync(staged, home, { recursive: true });
  for (const name of ['install.sh', 'update.sh', 'systemd', 'udev', 'journald', 'brinekeep-command.sh'])
    rmSync(join(home, 'deploy', name), { recursive: true, force: true });
  const from = (path) => readFileSync(join(staged, 'deploy', path), 'utf8');
  for (const unit of ['brinekeep.service', 'brinekeep-backup.service', 'brinekeep-backup.timer'])
    write(join(tree, 'lib/systemd/system', unit), moved(from(`systemd/${unit}`)));
  write(join(tree, 'lib/udev/rules.d/70-brinekeep.rules'), from('udev/70-brinekeep.rules'));
  write(join(tree, 'usr/bin/brinekeep'), moved(from('brinekeep-command.sh')), 0o755);
  for (const name of ['LICENSE', 'CHANGELOG.md']) {
    mkdirSync(join(tree, 'usr/share/doc/brinekeep'), { recursive: true });
    cpSync(join(staged, name), join(tree, 'usr/share/doc/brinekeep', name === 'LICENSE' ? 'copyright' : name));
  }
  write(
    join(tree, 'DEBIAN/control'),
    control({
      Package: 'brinekeep',
      Version: version,
      Architecture: processor,
      Maintainer: maintainer,
      'Installed-Size': sizeKB,
      Depends: 'nodejs (>= 22.14) | brinekeep-node (>= 22.14), systemd, passwd, libstdc++6, debconf',
      Section: 'misc',
      Priority: 'optional',
      Description:
        'Always-on watch over a room of reef aquariums\n Reads probes over serial lines and MQTT, raises alarms, advises doses.',
    }),
  );
  for (const name of ['postinst', 'prerm', 'postrm', 'templates'])
    write(
      join(tree, 'DEBIAN', name),
      readFileSync(join(here, 'debian', name), 'utf8'),
      name === 'templates' ? 0o644 : 0o755,
    );
  pack(tree, target, atS, 'xz');
}

export function buildNodePackage({ node, licence, work, target, version, processor, atS }) {
  const tree = join(work, `deb-node-${processor}`);
  rmSync(tree, { recursive: true, force: true });
  mkdirSync(join(tree, 'usr/lib/brinekeep/runtime/bin'), { recursive: true });
  cpSync(node, join(tree, 'usr/lib/brinekeep/runtime/bin/node'));
  mkdirSync(join(tree, 'usr/share/doc/brinekeep-node'), { recursive: true });
  cpSync(licence, join(tree, 'usr/share/doc/brinekeep-node/copyright'));
  write(
    join(tree, 'DEBIAN/control'),
    control({
      Package: 'brinekeep-node',
      Version: version,
      Architecture: processor,
      Maintainer: maintainer,
      Depends: 'libc6 (>= 2.28), libstdc++6',
      Section: 'misc',
      Priority: 'optional',
      Description: 'Node.js for Brinekeep alone\n For where the Node of the distribution is older than 22.14.',
    }),
  );
  // By xz it takes a third less, and minutes.
  pack(tree, target, atS, 'gzip');
}
