import Database from 'better-sqlite3';
import type { StoredReading } from './readings-table.ts';
import { readingCheck } from './row-check.ts';
import { startOf } from './tally.ts';

/** In order of worth: what a person typed first, so that a disk that fills up costs the least. */
const tables = [
  { name: 'meta', key: ['name'], where: "name <> 'running'" },
  { name: 'counters', key: ['name'] },
  { name: 'documents', key: ['name'] },
  { name: 'journal', key: ['id'] },
  { name: 'outbox', key: ['destination', 'id'] },
  { name: 'series', key: ['id'] },
  { name: 'unsummarised', key: ['hour_ms'] },
  { name: 'summaries_hour', key: ['series_id', 'start_ms'] },
  { name: 'summaries_minute', key: ['series_id', 'start_ms'] },
  { name: 'readings', key: ['time_ms', 'series_id'] },
] as const;

const rowsInTransaction = 50_000;

/**
 * Copies what can be read from a damaged file into a new, empty store: each table from its start up to the first page that
 * cannot be read, then from its end backwards.
 *
 * @returns what was saved and what was met, as part of a sentence
 */
export function salvageInto(db: Database.Database, damagedPath: string): string {
  let damaged: Database.Database;
  try {
    damaged = new Database(damagedPath, { fileMustExist: true });
  } catch (error) {
    return `nothing of it can be read (${messageOf(error)})`;
  }
  const saved: string[] = [];
  const trouble: string[] = [];
  try {
    for (const table of tables) {
      const { rows, error } = copyTable(damaged, db, table.name, table.key, 'where' in table ? table.where : 'true');
      if (rows > 0) saved.push(`${rows} rows of ${table.name}`);
      if (error) trouble.push(`${table.name}: ${error}`);
    }
    checkAnew(db);
  } finally {
    damaged.close();
  }
  const what = saved.length > 0 ? `salvaged ${saved.join(', ')}` : 'nothing of it can be read';
  return trouble.length > 0 ? `${what}; parts could not be read (${trouble.join('; ')})` : what;
}

function copyTable(
  from: Database.Database,
  to: Database.Database,
  table: string,
  key: readonly string[],
  where: string,
): { rows: number; error?: string } {
  let rows = 0;
  let error: string | undefined;
  for (const direction of ['ASC', 'DESC']) {
    try {
      const order = key.map((column) => `${column} ${direction}`).join(', ');
      const source = from.prepare(`SELECT * FROM ${table} NOT INDEXED WHERE ${where} ORDER BY ${order}`).raw();
      const columns = source.columns().map((column) => column.name);
      const insert = to.prepare(
        `INSERT OR IGNORE INTO ${table} (${columns.join(', ')}) VALUES (${columns.map(() => '?').join(', ')})`,
      );
      to.exec('BEGIN IMMEDIATE');
      try {
        for (const row of source.iterate()) {
          rows += copyRow(insert, row as unknown[]);
          // In portions: a log as large as the file might not fit on the disk.
          if (rows % rowsInTransaction === 0) to.exec('COMMIT; BEGIN IMMEDIATE');
        }
      } catch (met) {
        // The end of what can be read from this side; what was copied so far is kept.
        error = messageOf(met);
      }
      if (to.inTransaction) to.exec('COMMIT');
      if (error === undefined) break;
    } catch (met) {
      error = messageOf(met);
    }
  }
  return error === undefined ? { rows } : { rows, error };
}

/** A row that does not fit the schema is garbage from a damaged page and stays behind. */
function copyRow(insert: Database.Statement, row: unknown[]): number {
  try {
    return insert.run(...row).changes;
  } catch (error) {
    if (error instanceof Database.SqliteError && error.code.startsWith('SQLITE_CONSTRAINT')) return 0;
    throw error;
  }
}

/** The sums by hour are of the readings that could be saved: those that are lost have been reported once. */
function checkAnew(db: Database.Database): void {
  const hours = new Map<number, { rows: number; sum: number }>();
  const rows = db.prepare<[], StoredReading>('SELECT time_ms, series_id, value, flag FROM readings').iterate();
  for (const row of rows) {
    const hourMs = startOf(row.time_ms, 'hour');
    const { rows: before, sum } = hours.get(hourMs) ?? { rows: 0, sum: 0 };
    const check = readingCheck(row.time_ms, row.series_id, row.value, row.flag);
    hours.set(hourMs, { rows: before + 1, sum: sum + check });
  }
  const put = db.prepare<[number, number, number]>('INSERT INTO reading_checks (hour_ms, rows, sum) VALUES (?, ?, ?)');
  db.transaction(() => {
    for (const [hourMs, check] of hours) put.run(hourMs, check.rows, check.sum);
  }).immediate();
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
