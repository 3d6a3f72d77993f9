// Whether the database's native module of a release bears this Node: node try-store.mjs RELEASE
// Built with the headers of Node 24.19 and later it ends the process once memory is cleaned up after its statements, seconds or
// hours after a start that looked well: since then an ObjectWrap (node_object_wrap.h) takes back a hook when it is collected,
// and asks for an environment at a moment when none is entered. So that is brought about here. Exit 0 when it lives.
import { createRequire } from 'node:module';
import { join, resolve } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';

const Database = createRequire(join(resolve(process.argv[2]), 'package.json'))('better-sqlite3');
const db = new Database(':memory:');
db.exec('CREATE TABLE kept (at INTEGER); INSERT INTO kept VALUES (1), (2), (3)');
let left = [];
for (let round = 0; round < 10; round += 1) {
  for (let count = 0; count < 500; count += 1) {
    const rows = db.prepare('SELECT at FROM kept').iterate();
    rows.next();
    rows.return();
  }
  left = Array.from({ length: 100_000 }, (_, index) => ({ index, text: `${round} ${index}` }));
  await pause(5);
}
db.close();
process.exitCode = left.length === 100_000 ? 0 : 1;
