// Puts the hub and the libraries it runs into one file, dist/hub/program.js, and beside it main.js, which looks at the Node
// first: to find and read some 1300 modules took most of a start and a tenth of the memory. Natives stay where they are
// installed. A place in the file is read back through program.js.map (`node --enable-source-maps`). Arguments name other
// entries, such as a measurement that runs the hub in its own process and must weigh what an installed one weighs.
import { readFileSync } from 'node:fs';
import { build } from 'esbuild';

// What CommonJS libraries expect to find around them.
const commonJs = `
import { createRequire } from 'node:module';
import { fileURLToPath as toPathOfBundle } from 'node:url';
const require = createRequire(import.meta.url);
const __filename = toPathOfBundle(import.meta.url);
const __dirname = toPathOfBundle(new URL('.', import.meta.url));`;

const asked = process.argv.slice(2);
for (const entry of asked.length === 0 ? ['hub/program.ts'] : asked) {
  const outfile = `dist/${entry.replace(/ts$/, 'js')}`;
  await build({
    entryPoints: [entry],
    outfile,
    bundle: true,
    platform: 'node',
    format: 'esm',
    target: 'node22.14',
    conditions: ['source'],
    mainFields: ['module', 'main'],
    external: ['better-sqlite3', '@serialport/bindings-cpp'],
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

// Last: with it the build is whole.
if (asked.length === 0)
  await build({
    entryPoints: ['hub/main.ts'],
    outfile: 'dist/hub/main.js',
    platform: 'node',
    format: 'esm',
    // What this file must be able to tell may be much older than what the rest needs.
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
