// Puts the hub and the libraries it runs into one file, dist/hub/main.js, in the place of the small one that tsc wrote there:
// to find and read some 1300 modules took most of a start and a tenth of the memory. Natives stay where they are installed.
// A place in the file is read back through main.js.map (`node --enable-source-maps`).
import { build } from 'esbuild';

// What CommonJS libraries expect to find around them.
const commonJs = `
import { createRequire } from 'node:module';
import { fileURLToPath as toPathOfBundle } from 'node:url';
const require = createRequire(import.meta.url);
const __filename = toPathOfBundle(import.meta.url);
const __dirname = toPathOfBundle(new URL('.', import.meta.url));`;

await build({
  entryPoints: ['hub/main.ts'],
  outfile: 'dist/hub/main.js',
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
