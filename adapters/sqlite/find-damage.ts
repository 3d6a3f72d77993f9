import { setImmediate as nextTurn } from 'node:timers/promises';
import type Database from 'better-sqlite3';
import { type JournalRow, journalCheck } from './journal-table.ts';
import type { StoredReading } from './readings-table.ts';
import { readingCheck, rowCheck } from './row-check.ts';
import { type SummaryRow, summaryCheck } from './summary-table.ts';
import { startOf } from './tally.ts';

/** Rows read in one go; between two goes the process does its other work. */
const rowsAtOnce = 5_000;

export type Damage = { structure: string[]; changed: string[] };

type Checked<Row> = Row & { row_check: number };

/**
 * Reads a whole store and says what is wrong with it: the structure by SQLite's own check, the values by the checksums
 * kept beside them. Small tables are checked in one call, large ones in slices, so that the hub keeps watching the room.
 *
 * @returns one sentence for each damage, at most a hundred of a sort: `structure` when parts of the file cannot be
 *   trusted to be there, `changed` when a row is there and differs from what was written
 */
export async function findDamage(db: Database.Database): Promise<Damage> {
  const structure: string[] = [];
  const changed: string[] = [];
  try {
    for (const table of ['meta', 'counters', 'series', 'journal', 'documents', 'outbox', 'reading_checks']) {
      for (const row of db.pragma(`integrity_check(${table})`) as { integrity_check: string }[]) {
        if (row.integrity_check !== 'ok') structure.push(`${table}: ${row.integrity_check}`);
      }
    }
    for await (const row of slices<Checked<JournalRow>>(db, 'SELECT * FROM journal ORDER BY id')) {
      if (journalCheck(row) !== row.row_check) changed.push(`journal entry ${row.id} has changed`);
    }
    for await (const row of slices<{ name: string; body: string; row_check: number }>(db, 'SELECT * FROM documents')) {
      if (rowCheck(row.name, row.body) !== row.row_check) changed.push(`document ${row.name} has changed`);
    }
    for (const table of ['summaries_minute', 'summaries_hour']) {
      const query = `SELECT * FROM ${table} ORDER BY series_id, start_ms`;
      for await (const row of slices<Checked<SummaryRow> & { series_id: number }>(db, query)) {
        if (summaryCheck(row.series_id, row) === row.row_check) continue;
        changed.push(`${table}: series ${row.series_id} at ${row.start_ms} has changed`);
      }
    }
    changed.push(...(await changedReadings(db)));
  } catch (error) {
    structure.push(error instanceof Error ? error.message : String(error));
  }
  return { structure: structure.slice(0, 100), changed: changed.slice(0, 100) };
}

/** Compares each hour of readings with the count and sum stored for it; hours not summarised yet have none. */
async function changedReadings(db: Database.Database): Promise<string[]> {
  const expected = new Map<number, { rows: number; sum: number }>();
  for (const row of db
    .prepare<[], { hour_ms: number; rows: number; sum: number }>('SELECT * FROM reading_checks')
    .all()) {
    expected.set(row.hour_ms, row);
  }
  const found = new Map<number, { rows: number; sum: number }>();
  const query = 'SELECT time_ms, series_id, value, flag FROM readings ORDER BY time_ms, series_id';
  for await (const row of slices<StoredReading>(db, query)) {
    const hourMs = startOf(row.time_ms, 'hour');
    const hour = found.get(hourMs) ?? { rows: 0, sum: 0 };
    hour.rows += 1;
    hour.sum += readingCheck(row.time_ms, row.series_id, row.value, row.flag);
    found.set(hourMs, hour);
  }
  const behind = new Set(
    db
      .prepare<[], { hour_ms: number }>('SELECT hour_ms FROM unsummarised')
      .all()
      .map((row) => row.hour_ms),
  );
  const damage: string[] = [];
  for (const hourMs of new Set([...expected.keys(), ...found.keys()])) {
    if (behind.has(hourMs)) continue;
    const want = expected.get(hourMs) ?? { rows: 0, sum: 0 };
    const have = found.get(hourMs) ?? { rows: 0, sum: 0 };
    if (want.rows === have.rows && want.sum === have.sum) continue;
    damage.push(
      `readings from ${new Date(hourMs).toISOString()} for an hour: ${have.rows} of ${want.rows} rows, or changed`,
    );
  }
  return damage;
}

async function* slices<Row>(db: Database.Database, query: string): AsyncIterable<Row> {
  let rows = 0;
  for (const row of db.prepare<[], Row>(query).iterate()) {
    yield row;
    rows += 1;
    if (rows % rowsAtOnce === 0) await nextTurn();
  }
}
