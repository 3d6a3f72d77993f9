// What a script must know of the store:
//
//     node store-facts.mjs path CONFIG    the path of the store that the configuration names
//     node store-facts.mjs schema FILE    the version of a store's schema, 0 where there is none
//     node store-facts.mjs sqlite         that the database loads here, by its version
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { parse } from 'yaml';

const [what, file] = process.argv.slice(2);

if (what === 'path') {
  process.stdout.write(`${join(parse(readFileSync(file, 'utf8')).data_dir ?? './data', 'brinekeep.db')}\n`);
} else if (what === 'schema') {
  let version = 0;
  if (existsSync(file)) {
    try {
      version = schemaOf({ readonly: true });
    } catch (error) {
      // A process that was killed within a write left a journal, and whoever may only read cannot roll it back.
      if (!String(error.code).startsWith('SQLITE_READONLY')) throw error;
      version = schemaOf({ fileMustExist: true });
    }
  }
  process.stdout.write(`${version}\n`);
} else if (what === 'sqlite') {
  process.stdout.write(`${new Database(':memory:').prepare('SELECT sqlite_version()').pluck().get()}\n`);
} else {
  process.stderr.write('need `path`, `schema` or `sqlite`\n');
  process.exitCode = 2;
}

function schemaOf(options) {
  const db = new Database(file, options);
  try {
    return Number(db.pragma('user_version', { simple: true }));
  } finally {
    db.close();
  }
}
