import { copyFileSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, expect, test } from 'vitest';
import { takePlaceOf } from '#adapters/sqlite/store-files.ts';

// A hot journal by https://www.sqlite.org/fileformat2.html#the_rollback_journal: whoever opens the file beside it rolls it back.

const folder = mkdtempSync(join(tmpdir(), 'brinekeep-place-'));
afterAll(() => rmSync(folder, { recursive: true }));

function filled(name: string, text: string): Database.Database {
  const db = new Database(join(folder, name));
  db.exec('CREATE TABLE entry (body TEXT)');
  const insert = db.prepare('INSERT INTO entry VALUES (?)');
  db.transaction(() => {
    for (let row = 0; row < 200; row += 1) insert.run(text.repeat(500));
  })();
  return db;
}

test('a store that is put in the place of one that died within a write is spoilt by its journal', () => {
  filled('backup.db', 'new').close();
  const before = filled('before.db', 'old');
  before.pragma('cache_size = 1');
  before.exec("BEGIN; UPDATE entry SET body = body || 'x'");
  const store = join(folder, 'store.db');
  copyFileSync(join(folder, 'before.db-journal'), `${store}-journal`);
  copyFileSync(join(folder, 'before.db'), store);
  before.exec('ROLLBACK');
  before.close();

  const aside = takePlaceOf(store, join(folder, 'backup.db'), { nowMs: () => 0, monotonicMs: () => 0 });
  expect(readdirSync(folder)).not.toContain('store.db-journal');
  const open = (path: string) => {
    const db = new Database(path);
    const found = {
      check: db.pragma('integrity_check', { simple: true }),
      bodies: db.prepare('SELECT DISTINCT substr(body, 1, 3) AS start, length(body) AS size FROM entry').all(),
    };
    db.close();
    return found;
  };
  expect(open(store)).toEqual({ check: 'ok', bodies: [{ start: 'new', size: 1500 }] });
  // The former one took its journal along: it is whole too.
  expect(existsSync(`${aside}-journal`)).toBe(true);
  expect(open(aside!)).toEqual({ check: 'ok', bodies: [{ start: 'old', size: 1500 }] });
});
