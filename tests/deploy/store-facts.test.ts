import { spawnSync } from 'node:child_process';
import { copyFileSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, expect, test } from 'vitest';

// A hot journal by https://www.sqlite.org/fileformat2.html#the_rollback_journal: what a process leaves that dies within a write.

const folder = mkdtempSync(join(tmpdir(), 'brinekeep-facts-'));
afterAll(() => rmSync(folder, { recursive: true }));

const schemaOf = (file: string) => {
  const { stdout, stderr } = spawnSync(process.execPath, ['deploy/store-facts.mjs', 'schema', file], {
    encoding: 'utf8',
  });
  return stdout.trim() || stderr;
};

test('a store whose writer was killed within a write has no schema, or that of the half-done write', () => {
  const file = join(folder, 'store.db');
  const db = new Database(file);
  db.exec('CREATE TABLE entry (body TEXT)');
  db.pragma('user_version = 3');
  // So little room in memory that the half-done write is in the file already.
  db.pragma('cache_size = 1');
  db.exec('BEGIN');
  db.pragma('user_version = 4');
  const insert = db.prepare('INSERT INTO entry VALUES (?)');
  for (let row = 0; row < 200; row += 1) insert.run('x'.repeat(1000));
  const killed = join(folder, 'killed.db');
  copyFileSync(`${file}-journal`, `${killed}-journal`);
  copyFileSync(file, killed);
  db.exec('ROLLBACK');
  db.close();
  expect(schemaOf(killed)).toBe('3');
  expect(schemaOf(file)).toBe('3');
  expect(schemaOf(join(folder, 'none.db'))).toBe('0');
});
