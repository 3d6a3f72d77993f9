// Puts the hub and the libraries it runs into one file, dist/hub/main.js, in the place of the small one that tsc wrote there:
// to find and read some 1300 modules took most of a start and a tenth of the memory. Natives stay where they are installed.
// A place in the file is read back through main.js.map (`node --enable-source-maps`). Arguments name other entries, such as
// a measurement that runs the hub in its own process and must weigh what an installed one weighs.
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
for (const entry of asked.length === 0 ? ['hub/main.ts'] : asked) {
  const outfile = `dist/${entry.replace(/ts$/, 'js')}`;
  await build({
    entryPoints: [entry],
    outfile,
    bundle: true,
    platform: 'node',
    format: 'esm',
    target: 'node20.19',
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
