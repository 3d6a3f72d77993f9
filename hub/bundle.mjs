// Puts the hub and the libraries it runs into one file, dist/hub/program.js, and beside it main.js, which looks at the Node
// first: to find and read some 1300 modules took most of a start and a tenth of the memory. The two native parts come along,
// so that dist/ needs no node_modules. A place in the file is read back through program.js.map (`node --enable-source-maps`).
//
//     node hub/bundle.mjs [--out dist] [ENTRY...]
//
// Entries are named to bundle other programs, such as a measurement that runs the hub in its own process and must weigh what
// an installed one weighs. The native parts of those are found in node_modules.
import { cpSync, mkdirSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { parseArgs } from 'node:util';
import { build } from 'esbuild';

const { values, positionals } = parseArgs({
  options: { out: { type: 'string', default: 'dist' } },
  allowPositionals: true,
});
const isWhole = positionals.length === 0;

// What CommonJS libraries expect to find around them.
const commonJs = `
import { createRequire } from 'node:module';
import { fileURLToPath as toPathOfBundle } from 'node:url';
const require = createRequire(import.meta.url);
const __filename = toPathOfBundle(import.meta.url);
const __dirname = toPathOfBundle(new URL('.', import.meta.url));`;

async function bundle(entry, external) {
  const outfile = `${values.out}/${entry.replace(/ts$/, 'js')}`;
  await build({
    entryPoints: [entry],
    outfile,
    bundle: true,
    platform: 'node',
    format: 'esm',
    target: 'node22.14',
    conditions: ['source'],
    mainFields: ['module', 'main'],
    external,
    // The text stays in memory as long as the hub runs; names stay as they are for those who read a trace.
    minifyWhitespace: true,
    legalComments: 'external',
    sourcemap: 'linked',
    sourcesContent: false,
    banner: { js: commonJs },
    logLevel: 'warning',
  });
  // One character that Latin-1 has not makes the machine keep each of the four million in two bytes. Strings are written with
  // escapes; a regular expression stands as its author wrote it.
  const wide = /.{0,60}[^\0-\xff].{0,20}/u.exec(readFileSync(outfile, 'utf8'));
  if (wide !== null) throw new Error(`${outfile} has a character beyond Latin-1; write it with \\u: ${wide[0]}`);
}

/** The native parts for this machine, where their own loaders look for them: in `prebuilds` beside the folder of the program. */
function copyNatives() {
  const { resolve } = createRequire(import.meta.url);
  const isForHere = (name) => name.startsWith(process.platform) && name.includes(process.arch);
  for (const library of ['better-sqlite3', '@serialport/bindings-cpp']) {
    const from = join(dirname(resolve(`${library}/package.json`)), 'prebuilds');
    for (const name of readdirSync(from).filter(isForHere))
      cpSync(join(from, name), join(values.out, 'prebuilds', name), { recursive: true });
  }
  // Of a release's build of the database, which these have just replaced.
  rmSync(join(values.out, 'prebuilds', 'fdatasync'), { force: true });
}

/** The small file that starts the program; what it must be able to tell may be much older than what the rest needs. */
async function bundleStart() {
  await build({
    entryPoints: ['hub/main.ts'],
    outfile: `${values.out}/hub/main.js`,
    platform: 'node',
    format: 'esm',
    target: 'node14',
    bundle: true,
    plugins: [
      {
        name: 'the program stays a file of its own',
        setup({ onResolve }) {
          onResolve({ filter: /\/program\.ts$/ }, () => ({ path: './program.js', external: true }));
        },
      },
    ],
    logLevel: 'warning',
  });
}

if (isWhole) {
  mkdirSync(join(values.out, 'prebuilds'), { recursive: true });
  copyNatives();
  for (const entry of ['hub/program.ts', 'deploy/ask-health.mjs', 'deploy/store-facts.mjs']) await bundle(entry, []);
  // Last: with it the build is whole.
  await bundleStart();
} else {
  for (const entry of positionals) await bundle(entry, ['better-sqlite3', '@serialport/bindings-cpp']);
}
