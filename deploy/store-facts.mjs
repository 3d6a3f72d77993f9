// What a script must know of the store: node store-facts.mjs RELEASE CONFIG path, or RELEASE FILE schema.
// Prints the path of the store that the configuration names, or the version of a store's schema (0 where there is none).
import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join, resolve } from 'node:path';

const [release, file, what] = process.argv.slice(2);
const requireFrom = createRequire(join(resolve(release), 'package.json'));

if (what === 'path') {
  const { parse } = requireFrom('yaml');
  process.stdout.write(`${join(parse(readFileSync(file, 'utf8')).data_dir ?? './data', 'brinekeep.db')}\n`);
} else if (what === 'schema') {
  const Database = requireFrom('better-sqlite3');
  let version = 0;
  if (existsSync(file)) {
    const db = new Database(file, { readonly: true });
    version = Number(db.pragma('user_version', { simple: true }));
    db.close();
  }
  process.stdout.write(`${version}\n`);
} else {
  process.stderr.write('need `path` or `schema`\n');
  process.exitCode = 2;
}
