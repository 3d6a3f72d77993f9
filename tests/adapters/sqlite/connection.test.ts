import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { connect, withCheckpoint, withoutSync } from '../../../adapters/sqlite/connection.ts';

/** As SQLite's manual numbers them: https://www.sqlite.org/pragma.html#pragma_synchronous */
const normal = 1;
const full = 2;

describe('what a commit waits for', () => {
  let dir: string;
  let db: ReturnType<typeof connect>;
  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'brinekeep-sync-'));
    db = connect(join(dir, 'hub.db'));
    db.exec('CREATE TABLE kept (n INTEGER)');
  });
  afterEach(() => {
    db.close();
    rmSync(dir, { recursive: true, force: true });
  });
  const synchronous = () => db.pragma('synchronous', { simple: true });

  test('leaves the next test or dose without its sync, also after it failed', () => {
    expect(synchronous()).toBe(full);
    const during = withoutSync(db, () => {
      db.prepare('INSERT INTO kept VALUES (1)').run();
      return synchronous();
    });
    expect([during, synchronous()]).toEqual([normal, full]);
    expect(() =>
      withoutSync(db, () => {
        throw new Error('the disk is full');
      }),
    ).toThrow('the disk is full');
    expect(synchronous()).toBe(full);
    expect(db.prepare('SELECT n FROM kept').all()).toEqual([{ n: 1 }]);
  });

  test('an alarm waits until the log of a night has gone into the file, or the log grows for ever', () => {
    const insert = db.prepare('INSERT INTO kept SELECT value FROM json_each(?)');
    const pagesOfFile = () => statSync(join(dir, 'hub.db')).size / 1024;
    const many = JSON.stringify(Array.from({ length: 500_000 }, (_, n) => n));
    insert.run(many);
    const atAlarm = pagesOfFile();
    expect(statSync(join(dir, 'hub.db-wal')).size / 1024).toBeGreaterThan(4000);
    withCheckpoint(db, () => insert.run('[1]'));
    expect(pagesOfFile()).toBeGreaterThan(atAlarm + 4000);
  });
});
