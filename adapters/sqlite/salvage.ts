import Database from 'better-sqlite3';
import type { Loss } from '../ports/hub-adapters.ts';
import { type BlockRow, blockCheck } from './block-table.ts';
import { settleLeft } from './commit-log.ts';
import { type LogRow, logCheck } from './flush-log.ts';
import { lossesIn } from './losses.ts';
import { packingMark } from './packing.ts';

/**
 * In order of worth: what a person typed first, so that a disk that fills up costs the least. `isAdded`: rows are added and
 * do not change, so that one of an earlier state is as good.
 */
const tables = [
  { name: 'meta', key: ['name'], where: "name <> 'running'" },
  { name: 'counters', key: ['name'] },
  { name: 'documents', key: ['name'] },
  { name: 'journal', key: ['id'], isAdded: true },
  { name: 'outbox', key: ['destination', 'id'] },
  { name: 'series', key: ['id'], isAdded: true },
  { name: 'flush_log', key: ['id'], isAdded: true },
  { name: 'blocks', key: ['kind', 'start_ms', 'series_id'], isAdded: true },
] as const;

const rowsInTransaction = 50_000;

/**
 * Copies what can be read from a damaged file into a new, empty store: each table from its start up to the first page that
 * cannot be read, then from its end backwards. A block that has changed stays behind in the damaged file.
 *
 * @param sources  the file; then states of it from before the damage, whose rows fill the gaps that the first leaves
 * @returns what was saved and what was met, as part of a sentence, and what is missing as far as it can be told
 */
export function salvageInto(
  db: Database.Database,
  sources: readonly (() => Database.Database)[],
): { salvaged: string; lost: Loss[] } {
  const saved = new Map<string, number>();
  const trouble: string[] = [];
  const opened: Database.Database[] = [];
  try {
    for (const [place, open] of sources.entries()) {
      const source = attempt(open, (error) => trouble.push(`nothing can be read (${messageOf(error)})`));
      if (source === undefined) continue;
      opened.push(source);
      for (const table of tables) {
        if (place > 0 && !('isAdded' in table)) continue;
        const { rows, error } = copyTable(source, db, table.name, table.key, 'where' in table ? table.where : 'true');
        saved.set(table.name, (saved.get(table.name) ?? 0) + rows);
        if (error) trouble.push(`${table.name}: ${error}`);
      }
      // An entry in the log of commits is not lost. Now: rows that an earlier state adds to the log would seem to come after these.
      settleLeft(db, place > 0);
    }
    const changed = leaveOutChanged(db);
    if (changed > 0) trouble.push(`${changed} blocks or flushes have changed and stay behind`);
    checkAnew(db);
    // Where that was not copied and a packing was under way, the log would count twice.
    db.exec(`INSERT OR IGNORE INTO meta (name, body) VALUES ('${packingMark}', '')`);
    const rows = [...saved].filter(([, count]) => count > 0).map(([name, count]) => `${count} rows of ${name}`);
    const what = rows.length > 0 ? `salvaged ${rows.join(', ')}` : 'nothing of it can be read';
    const salvaged = trouble.length > 0 ? `${what}; parts could not be read (${trouble.join('; ')})` : what;
    return { salvaged, lost: lossesIn(db, opened[0]) };
  } finally {
    for (const each of opened) each.close();
  }
}

function attempt<Result>(work: () => Result, failed: (error: unknown) => void): Result | undefined {
  try {
    return work();
  } catch (error) {
    failed(error);
    return undefined;
  }
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
      const columns = sharedColumns(from, to, table);
      const source = from
        .prepare(`SELECT ${columns.join(', ')} FROM ${table} NOT INDEXED WHERE ${where} ORDER BY ${order}`)
        .raw();
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

/** What a foreign hand, or a later version, has added to a table stays behind. */
function sharedColumns(from: Database.Database, to: Database.Database, table: string): string[] {
  const of = (db: Database.Database) =>
    db
      .prepare<[], { name: string }>(`SELECT name FROM pragma_table_info('${table}')`)
      .all()
      .map(({ name }) => name);
  const known = new Set(of(to));
  return of(from).filter((name) => known.has(name));
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

/** Takes the blocks and flushes out of the copy whose content is not what was written. Gives how many. */
function leaveOutChanged(db: Database.Database): number {
  const changedBlocks: BlockRow[] = [];
  for (const row of db.prepare<[], BlockRow & { row_check: number }>('SELECT * FROM blocks').iterate()) {
    if (blockCheck(row) !== row.row_check) changedBlocks.push({ ...row, body: Buffer.alloc(0) });
  }
  const changedFlushes: number[] = [];
  for (const row of db.prepare<[], LogRow>('SELECT * FROM flush_log').iterate()) {
    if (logCheck(row) !== row.row_check) changedFlushes.push(row.id);
  }
  const removeBlock = db.prepare<[number, number, number]>(
    'DELETE FROM blocks WHERE kind = ? AND start_ms = ? AND series_id = ?',
  );
  const removeFlush = db.prepare<[number]>('DELETE FROM flush_log WHERE id = ?');
  db.transaction(() => {
    for (const { kind, start_ms, series_id } of changedBlocks) removeBlock.run(kind, start_ms, series_id);
    for (const id of changedFlushes) removeFlush.run(id);
  }).immediate();
  return changedBlocks.length + changedFlushes.length;
}

/** The sums are of what could be saved: what is lost has been reported once. */
function checkAnew(db: Database.Database): void {
  db.exec(
    `INSERT INTO block_checks (kind, start_ms, blocks, sum)
      SELECT kind, start_ms, count(*), sum(row_check) FROM blocks GROUP BY kind, start_ms`,
  );
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
