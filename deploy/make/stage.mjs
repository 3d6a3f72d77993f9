// The files of a release, laid out as they are installed: what runs, what installs it, and nothing that was only needed to
// build it.
import { chmodSync, cpSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { buildNative, nodeNames } from './natives.mjs';

const unwanted = /\.map$|^\/deploy\/(make|docs|try-|ask-health|store-facts)|\/prebuilds\//;

function copy(path, folder) {
  mkdirSync(dirname(join(folder, path)), { recursive: true });
  cpSync(path, join(folder, path), { recursive: true, filter: (from) => !unwanted.test(`/${from}`) });
}

/** Both native parts for one processor, in the places where their loaders look. */
function layNatives(processor, folder) {
  const arch = nodeNames[processor];
  buildNative(processor, folder);
  const from = `node_modules/@serialport/bindings-cpp/prebuilds/linux-${arch}`;
  const name = `@serialport+bindings-cpp${arch === 'arm64' ? '.armv8' : ''}.glibc.node`;
  mkdirSync(join(folder, `linux-${arch}`), { recursive: true });
  cpSync(join(from, name), join(folder, `linux-${arch}`, name));
}

/**
 * Lays the release into `folder`, with the native parts for the `processors`.
 *
 * @param texts  further files by name, such as the licences of what is bundled
 */
export function stage({ folder, version, processors, texts }) {
  for (const path of ['dist', 'deploy', 'fixtures/demo', 'LICENSE', 'README.md', 'CHANGELOG.md']) copy(path, folder);
  for (const processor of processors) layNatives(processor, join(folder, 'dist/prebuilds'));
  for (const [name, text] of Object.entries(texts)) writeFileSync(join(folder, name), text);
  const { name, description, license, type, engines, bin } = JSON.parse(readFileSync('package.json', 'utf8'));
  const manifest = { name, version, description, license, type, engines, bin, os: ['linux'] };
  const cpu = processors.map((processor) => nodeNames[processor]);
  writeFileSync(join(folder, 'package.json'), `${JSON.stringify({ ...manifest, cpu }, undefined, 2)}\n`);
  chmodSync(join(folder, bin.brinekeep), 0o755);
}
