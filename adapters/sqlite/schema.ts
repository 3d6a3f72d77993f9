import type Database from 'better-sqlite3';
import { StoreError } from './store-error.ts';

/**
 * The schema as steps: step N turns version N-1 into version N (PRAGMA user_version), each in a transaction of its own.
 * A step that has been released is never edited; a change of the schema is a further step.
 *
 * Choices that cost or save card wear (measured by tests/adapters/sqlite/measure-writes.ts):
 * - a flush is one row of `flush_log`, whatever the number of streams: it changes one page of the file;
 * - readings of some hours go together into a block for each series, and their summaries with them: a compressed value
 *   takes a twentieth of the rows it stands for, and is written once;
 * - blocks are keyed by time first, so that those of all streams go to the end of the table.
 *
 * `readings`, `reading_checks`, `unsummarised`, `summaries_minute` and `summaries_hour` are the rows of version 1. From
 * version 2 on nothing is added to them: what they hold moves into blocks while the hub runs.
 */
export const migrations: readonly string[] = [
  `
  CREATE TABLE meta (name TEXT PRIMARY KEY, body TEXT NOT NULL) WITHOUT ROWID, STRICT;

  CREATE TABLE counters (name TEXT PRIMARY KEY, count INTEGER NOT NULL) WITHOUT ROWID, STRICT;

  CREATE TABLE series (
    id INTEGER PRIMARY KEY,
    system TEXT NOT NULL,
    metric TEXT NOT NULL,
    probe TEXT NOT NULL,
    UNIQUE (system, metric, probe)
  ) STRICT;

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
  `,
  `
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
  `,
];

/**
 * Brings a file to the schema this program knows.
 *
 * @throws StoreError STORE_NEWER_SCHEMA  for a file of a later program: writing to it by guess could spoil it
 */
export function migrate(db: Database.Database, steps: readonly string[] = migrations): void {
  const found = Number(db.pragma('user_version', { simple: true }));
  if (found > steps.length) {
    throw new StoreError(
      'STORE_NEWER_SCHEMA',
      `${db.name}: found schema version ${found}, this program knows versions up to ${steps.length}.`,
    );
  }
  for (const [index, step] of steps.entries()) {
    if (index < found) continue;
    db.transaction(() => {
      db.exec(step);
      db.pragma(`user_version = ${index + 1}`);
    }).immediate();
  }
}
