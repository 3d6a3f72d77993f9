import { join } from 'node:path';
import Database from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import { migrate, migrations, newestVersion } from '#adapters/sqlite/schema.ts';
import { openScratch, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

describe('a further step of the schema', () => {
  const later = [
    ...migrations,
    'ALTER TABLE series ADD COLUMN label TEXT',
    'CREATE TABLE extra (id INTEGER PRIMARY KEY)',
  ];

  it('an update of the hub loses the record of before', () => {
    const path = join(scratchFolder(), 'store.db');
    const store = openScratch({ path });
    store.add([passed(temperature, 1_000, 25)]);
    store.close();
    const db = new Database(path);
    migrate(db, later);
    expect(db.pragma('user_version', { simple: true })).toBe(newestVersion + 2);
    expect(db.prepare('SELECT system, label FROM series').all()).toEqual([{ system: 'display', label: null }]);
    expect(db.prepare('SELECT id FROM flush_log').all()).toEqual([{ id: 1 }]);
    // Again changes nothing.
    migrate(db, later);
    // What a step leaves alone can be read as before.
    db.pragma(`user_version = ${newestVersion}`);
    db.close();
    expect(openScratch({ path }).readings(temperature, 0, 2_000)).toEqual([{ timeMs: 1_000, value: 25, flag: 'pass' }]);
  });

  it('an update that fails half-way leaves a file that neither version can use', () => {
    const path = join(scratchFolder(), 'store.db');
    openScratch({ path }).close();
    const db = new Database(path);
    const failing = [...migrations, 'ALTER TABLE series ADD COLUMN label TEXT; INSERT INTO nowhere VALUES (1)'];
    expect(() => migrate(db, failing)).toThrow('nowhere');
    db.close();
    const again = openScratch({ path });
    expect(again.series()).toEqual([]);
    again.close();
    const after = new Database(path);
    expect(after.prepare("SELECT name FROM pragma_table_info('series')").pluck().all()).not.toContain('label');
    after.close();
  });
});
