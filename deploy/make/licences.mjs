// The licences of all that is bundled, as one text: each library by its name, version and its own licence file.
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

/** The folder of the package that a file belongs to; what a package has swallowed itself goes by that package. */
function packageOf(path) {
  const folder = /.*node_modules\/(?:@[^/]+\/)?[^/]+/.exec(path)?.[0];
  if (folder === undefined || existsSync(join(folder, 'package.json'))) return folder;
  return packageOf(folder.slice(0, folder.lastIndexOf('node_modules')));
}

/** Folders of the packages whose files went into a bundle, by the map beside it. */
function bundledBy(mapPath) {
  const { sources } = JSON.parse(readFileSync(mapPath, 'utf8'));
  return sources.map((source) => packageOf(source.replace(/^(\.\.\/)+/, ''))).filter((path) => path !== undefined);
}

/** The libraries that the sources of the page name, and theirs. */
function bundledIntoPage(folder) {
  const found = new Set();
  const take = (name) => {
    const path = `node_modules/${name}`;
    if (found.has(path) || !existsSync(join(path, 'package.json'))) return;
    found.add(path);
    Object.keys(JSON.parse(readFileSync(join(path, 'package.json'), 'utf8')).dependencies ?? {}).forEach(take);
  };
  for (const file of readdirSync(folder, { recursive: true, encoding: 'utf8' }).filter((name) => /\.tsx?$/.test(name)))
    for (const [, name] of readFileSync(join(folder, file), 'utf8').matchAll(/from '((?:@[^/']+\/)?[^./#@'][^/']*)/g))
      take(name);
  return [...found];
}

/** @returns the text, the same for the same libraries */
export function licencesText() {
  const natives = ['node_modules/better-sqlite3', 'node_modules/@serialport/bindings-cpp'];
  const paths = new Set([...natives, ...bundledBy('dist/hub/program.js.map'), ...bundledIntoPage('hub/web/src')]);
  const parts = [...paths].toSorted().map((path) => {
    const { name, version, license } = JSON.parse(readFileSync(join(path, 'package.json'), 'utf8'));
    const file = readdirSync(path).find((each) => /^(licen[cs]e|copying)(\.|$)/i.test(each));
    const text =
      file === undefined ? '(no licence file in the package)' : readFileSync(join(path, file), 'utf8').trim();
    return `${name} ${version}: ${license ?? 'see below'}\n\n${text}\n`;
  });
  const head =
    'Brinekeep itself is under the Apache License 2.0 (LICENSE). Bundled with it are these libraries; SQLite inside\nbetter-sqlite3 is in the public domain.\n';
  return [head, ...parts].join(`\n${'-'.repeat(79)}\n\n`);
}
