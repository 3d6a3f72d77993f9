import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { connect, withoutSync } from '../../../adapters/sqlite/connection.ts';

/** As SQLite's manual numbers them: https://www.sqlite.org/pragma.html#pragma_synchronous */
const normal = 1;
const full = 2;

describe('a commit that need not wait for the disk', () => {
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
});
