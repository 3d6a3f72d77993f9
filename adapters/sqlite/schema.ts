import type Database from 'better-sqlite3';
import { StoreError } from './store-error.ts';

/**
 * The schema, as a new store gets it in one transaction.
 *
 * Choices that cost or save card wear (measured by tests/adapters/sqlite/measure-writes.ts):
 * - a flush is one row of `flush_log`, whatever the number of streams: it changes one page of the file;
 * - readings of some hours go together into a block for each series, and their summaries with them: a compressed value
 *   takes a twentieth of the rows it stands for, and is written once;
 * - blocks are keyed by time first, so that those of all streams go to the end of the table.
 */
const schema = `
  CREATE TABLE meta (name TEXT PRIMARY KEY, body TEXT NOT NULL) WITHOUT ROWID, STRICT;

  CREATE TABLE counters (name TEXT PRIMARY KEY, count INTEGER NOT NULL) WITHOUT ROWID, STRICT;

  CREATE TABLE series (
    id INTEGER PRIMARY KEY,
    system TEXT NOT NULL,
    metric TEXT NOT NULL,
    probe TEXT NOT NULL,
    UNIQUE (system, metric, probe)
  ) STRICT;

  -- root: the first entry of a line of corrections; NULL in that entry itself
  CREATE TABLE journal (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    kind TEXT NOT NULL,
    time_ms INTEGER NOT NULL,
    recorded_ms INTEGER NOT NULL,
    system TEXT NOT NULL,
    body TEXT NOT NULL,
    corrects INTEGER,
    root INTEGER,
    is_withdrawn INTEGER NOT NULL,
    key TEXT UNIQUE,
    row_check INTEGER NOT NULL
  ) STRICT;
  CREATE INDEX journal_by_time ON journal (kind, time_ms);
  CREATE INDEX journal_by_root ON journal (root, id) WHERE root IS NOT NULL;
  CREATE TRIGGER journal_keeps_every_entry BEFORE DELETE ON journal
    BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;
  CREATE TRIGGER journal_keeps_entries_as_written BEFORE UPDATE ON journal
    BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END;

  CREATE TABLE documents (name TEXT PRIMARY KEY, body TEXT NOT NULL, row_check INTEGER NOT NULL) WITHOUT ROWID, STRICT;

  CREATE TABLE outbox (
    destination TEXT NOT NULL,
    id INTEGER NOT NULL,
    key TEXT NOT NULL,
    payload TEXT NOT NULL,
    created_ms INTEGER NOT NULL,
    parked_reason TEXT,
    PRIMARY KEY (destination, id),
    UNIQUE (destination, key)
  ) WITHOUT ROWID, STRICT;

  -- the readings of one flush, all series; from the oldest that is not in a block
  CREATE TABLE flush_log (id INTEGER PRIMARY KEY, body BLOB NOT NULL, row_check INTEGER NOT NULL) STRICT;

  -- kind: 0 readings, 1 minute summaries, 2 hour summaries; start_ms: of the span of time; count: what the body holds
  CREATE TABLE blocks (
    kind INTEGER NOT NULL,
    start_ms INTEGER NOT NULL,
    series_id INTEGER NOT NULL,
    count INTEGER NOT NULL,
    body BLOB NOT NULL,
    row_check INTEGER NOT NULL,
    PRIMARY KEY (kind, start_ms, series_id)
  ) WITHOUT ROWID, STRICT;

  -- how many blocks a span has, and the sum of their checks: tells a block that has vanished
  CREATE TABLE block_checks (
    kind INTEGER NOT NULL,
    start_ms INTEGER NOT NULL,
    blocks INTEGER NOT NULL,
    sum INTEGER NOT NULL,
    PRIMARY KEY (kind, start_ms)
  ) WITHOUT ROWID, STRICT;
`;

/** What version 2 had besides: the rows of version 1, which was never released. They are empty there. */
const rowsOfVersion1 = `
  -- flag: the QARTOD number
  CREATE TABLE readings (
    time_ms INTEGER NOT NULL,
    series_id INTEGER NOT NULL,
    value REAL NOT NULL,
    flag INTEGER NOT NULL,
    PRIMARY KEY (time_ms, series_id)
  ) WITHOUT ROWID, STRICT;

  -- how many readings an hour holds, and the sum of their row checks: tells a flipped bit
  CREATE TABLE reading_checks (hour_ms INTEGER PRIMARY KEY, rows INTEGER NOT NULL, sum INTEGER NOT NULL) STRICT;

  CREATE TABLE unsummarised (hour_ms INTEGER PRIMARY KEY) STRICT;

  -- count: readings behind min, max and sum; failed: readings whose value failed and stays out of them
  CREATE TABLE summaries_minute (
    series_id INTEGER NOT NULL,
    start_ms INTEGER NOT NULL,
    count INTEGER NOT NULL,
    failed INTEGER NOT NULL,
    min REAL,
    max REAL,
    sum REAL NOT NULL,
    worst INTEGER NOT NULL,
    row_check INTEGER NOT NULL,
    PRIMARY KEY (series_id, start_ms)
  ) WITHOUT ROWID, STRICT;

  CREATE TABLE summaries_hour (
    series_id INTEGER NOT NULL,
    start_ms INTEGER NOT NULL,
    count INTEGER NOT NULL,
    failed INTEGER NOT NULL,
    min REAL,
    max REAL,
    sum REAL NOT NULL,
    worst INTEGER NOT NULL,
    row_check INTEGER NOT NULL,
    PRIMARY KEY (series_id, start_ms)
  ) WITHOUT ROWID, STRICT;
`;

/**
 * The way to it: the first step makes `oldestVersion` (PRAGMA user_version), each further one the next version, each in a
 * transaction of its own. A step that has been on main is never edited; a change of the schema is a further step, and a store of the
 * version before it is kept in fixtures/stores.
 */
export const migrations: readonly string[] = [
  schema + rowsOfVersion1,
  `
  DROP TABLE readings;
  DROP TABLE reading_checks;
  DROP TABLE unsummarised;
  DROP TABLE summaries_minute;
  DROP TABLE summaries_hour;
  `,
  // Rows of flush_log may be commits (commit-log.ts): an older program would leave them out and delete them.
  'SELECT 1',
];

export const oldestVersion = 2;
export const newestVersion = oldestVersion + migrations.length - 1;

/**
 * Brings a file to the schema this program knows.
 *
 * @param steps  from `oldestVersion` on
 * @throws StoreError  STORE_NEWER_SCHEMA, STORE_OLDER_SCHEMA: the file is as it was. Writing to it by guess could spoil it
 */
export function migrate(db: Database.Database, steps: readonly string[] = migrations): void {
  const found = Number(db.pragma('user_version', { simple: true }));
  const newest = oldestVersion + steps.length - 1;
  if (found > newest) {
    throw new StoreError(
      'STORE_NEWER_SCHEMA',
      `${db.name}: found schema version ${found}, this program knows versions up to ${newest}.`,
    );
  }
  assertNoneOfVersion1(db, found);
  if (found === 0) stepTo(db, schema, newestVersion);
  for (const [index, step] of steps.entries()) {
    const version = oldestVersion + index;
    if (version > (found === 0 ? newestVersion : found)) stepTo(db, step, version);
  }
}

function stepTo(db: Database.Database, step: string, version: number): void {
  db.transaction(() => {
    db.exec(step);
    db.pragma(`user_version = ${version}`);
  }).immediate();
}

/** @throws StoreError STORE_OLDER_SCHEMA  the file has rows of version 1, which this program cannot read */
export function assertNoneOfVersion1(db: Database.Database, found: number): void {
  const holds = (table: string) => db.prepare(`SELECT 1 FROM ${table} LIMIT 1`).get() !== undefined;
  const left = found === 2 && ['readings', 'summaries_minute', 'summaries_hour'].some(holds);
  if (found !== 1 && !left) return;
  const what = left ? 'rows of schema version 1 that were never moved' : 'schema version 1';
  throw new StoreError(
    'STORE_OLDER_SCHEMA',
    `${db.name}: found ${what}, this program reads version ${oldestVersion} and later.`,
  );
}
