import type Database from 'better-sqlite3';
import type { Loss } from '../ports/hub-adapters.ts';
import { blockKinds, spanMs } from './block-table.ts';
import { isCommit, type LogRow } from './flush-log.ts';
import { type JournalRow, journalCheck } from './journal-table.ts';
import { streamsFromBytes } from './reading-codec.ts';
import { rowCheck } from './row-check.ts';

/** More gaps than this are told as one. */
const mostGaps = 20;

/**
 * What is missing in a store after a damage. The journal and the flushes are numbered without gaps; of each span of readings
 * it is noted how many blocks it has.
 *
 * @param former  the damaged file, where it can be opened: its notes say what ought to be there
 */
export function lossesIn(db: Database.Database, former?: Database.Database): Loss[] {
  return [...missingEntries(db, former), ...missingReadings(db, former), ...changedDocuments(db)];
}

function missingEntries(db: Database.Database, former: Database.Database | undefined): Loss[] {
  const losses: Loss[] = [];
  let last = { id: 0, recorded_ms: undefined as number | undefined };
  const gap = (count: number, toMs: number | undefined) => {
    if (count > 0) losses.push({ what: 'entries', count, ...span(last.recorded_ms, toMs) });
  };
  for (const row of db.prepare<[], JournalRow & { row_check: number }>('SELECT * FROM journal ORDER BY id').iterate()) {
    if (journalCheck(row) !== row.row_check) continue;
    gap(row.id - last.id - 1, row.recorded_ms);
    last = row;
  }
  const numbered = Math.max(...[db, former].map((each) => lastNumber(each)));
  gap(numbered - last.id, undefined);
  return joined(losses);
}

/** 0 where nobody can say. */
function lastNumber(db: Database.Database | undefined): number {
  const sql = "SELECT seq FROM sqlite_sequence WHERE name = 'journal'";
  return attempt(() => db?.prepare<[], { seq: number }>(sql).get()?.seq) ?? 0;
}

function missingReadings(db: Database.Database, former: Database.Database | undefined): Loss[] {
  const losses: Loss[] = [];
  const sql = `SELECT start_ms, blocks FROM block_checks WHERE kind = ${blockKinds.readings}`;
  const expected = attempt(() => (former ?? db).prepare<[], { start_ms: number; blocks: number }>(sql).all()) ?? [];
  const count = db.prepare<[number], { found: number }>(
    `SELECT count(*) AS found FROM blocks WHERE kind = ${blockKinds.readings} AND start_ms = ?`,
  );
  for (const { start_ms, blocks } of expected) {
    if (count.get(start_ms)!.found < blocks)
      losses.push({ what: 'readings', fromMs: start_ms, toMs: start_ms + spanMs.readings });
  }
  let before: { id: number; newestMs: number | undefined } | undefined;
  for (const row of db.prepare<[], LogRow>('SELECT * FROM flush_log ORDER BY id').iterate()) {
    const times = isCommit(row) ? before && { oldestMs: before.newestMs, newestMs: before.newestMs } : timesOf(row);
    if (before !== undefined && row.id > before.id + 1)
      losses.push({ what: 'readings', ...span(before.newestMs, times?.oldestMs) });
    before = { id: row.id, newestMs: times?.newestMs };
  }
  return joined(losses);
}

function timesOf(row: LogRow): { oldestMs: number; newestMs: number } | undefined {
  return attempt(() => {
    let [oldestMs, newestMs] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
    for (const [, readings] of streamsFromBytes(row.body)) {
      for (const { timeMs } of readings)
        [oldestMs, newestMs] = [Math.min(oldestMs, timeMs), Math.max(newestMs, timeMs)];
    }
    return oldestMs <= newestMs ? { oldestMs, newestMs } : undefined;
  });
}

function changedDocuments(db: Database.Database): Loss[] {
  const rows = db.prepare<[], { name: string; body: string; row_check: number }>('SELECT * FROM documents').all();
  const count = rows.filter(({ name, body, row_check }) => rowCheck(name, body) !== row_check).length;
  return count === 0 ? [] : [{ what: 'documents', count }];
}

function joined(losses: readonly Loss[]): Loss[] {
  if (losses.length <= mostGaps) return [...losses];
  const [first, last] = [losses[0]!, losses.at(-1)!];
  const count = losses.reduce((sum, loss) => sum + (loss.count ?? 0), 0);
  return [{ what: first.what, ...(count > 0 && { count }), ...span(first.fromMs, last.toMs) }];
}

function span(fromMs: number | undefined, toMs: number | undefined): Pick<Loss, 'fromMs' | 'toMs'> {
  return { ...(fromMs !== undefined && { fromMs }), ...(toMs !== undefined && { toMs }) };
}

/** A note in a damaged page says nothing. */
function attempt<Result>(work: () => Result): Result | undefined {
  try {
    return work();
  } catch {
    return undefined;
  }
}
