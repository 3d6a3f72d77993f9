import { setImmediate as nextTurn } from 'node:timers/promises';
import type Database from 'better-sqlite3';
import { type BlockRow, blockCheck, blockName } from './block-table.ts';
import { type LogRow, logCheck } from './flush-log.ts';
import { type JournalRow, journalCheck } from './journal-table.ts';
import { rowCheck } from './row-check.ts';

export type Damage = { structure: string[]; changed: string[] };

type Checked<Row> = Row & { row_check: number };

/** Of each table that is read in slices: its key, and how many rows are read in one go. */
const sliced = {
  journal: { key: ['id'], atOnce: 1_000 },
  documents: { key: ['name'], atOnce: 100 },
  flush_log: { key: ['id'], atOnce: 1_000 },
  blocks: { key: ['kind', 'start_ms', 'series_id'], atOnce: 200 },
} as const;

/** Checked in one call by SQLite: they stay small. */
const small = ['meta', 'counters', 'series', 'journal', 'documents', 'outbox', 'flush_log', 'block_checks'];

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
    for (const table of small) {
      for (const row of db.pragma(`integrity_check(${table})`) as { integrity_check: string }[]) {
        if (row.integrity_check !== 'ok') structure.push(`${table}: ${row.integrity_check}`);
      }
    }
    for await (const row of slices<Checked<JournalRow>>(db, 'journal')) {
      if (journalCheck(row) !== row.row_check) changed.push(`journal entry ${row.id} has changed`);
    }
    for await (const row of slices<{ name: string; body: string; row_check: number }>(db, 'documents')) {
      if (rowCheck(row.name, row.body) !== row.row_check) changed.push(`document ${row.name} has changed`);
    }
    for await (const row of slices<LogRow>(db, 'flush_log')) {
      if (logCheck(row) !== row.row_check) changed.push(`flush ${row.id} of the last hours has changed`);
    }
    changed.push(...(await changedBlocks(db)));
  } catch (error) {
    structure.push(error instanceof Error ? error.message : String(error));
  }
  return { structure: structure.slice(0, 100), changed: changed.slice(0, 100) };
}

/** Blocks that differ from their checksum, and spans whose blocks are not those that were written. */
async function changedBlocks(db: Database.Database): Promise<string[]> {
  const damage: string[] = [];
  const found = new Map<string, { blocks: number; sum: number }>();
  for await (const row of slices<Checked<BlockRow>>(db, 'blocks')) {
    if (blockCheck(row) !== row.row_check) damage.push(`${blockName(row)} have changed`);
    const span = `${row.kind}/${row.start_ms}`;
    const { blocks, sum } = found.get(span) ?? { blocks: 0, sum: 0 };
    found.set(span, { blocks: blocks + 1, sum: sum + row.row_check });
  }
  const expected = db
    .prepare<[], { kind: number; start_ms: number; blocks: number; sum: number }>('SELECT * FROM block_checks')
    .all();
  for (const { kind, start_ms, blocks, sum } of expected) {
    const have = found.get(`${kind}/${start_ms}`) ?? { blocks: 0, sum: 0 };
    found.delete(`${kind}/${start_ms}`);
    if (have.blocks === blocks && have.sum === sum) continue;
    damage.push(`kind ${kind} from ${start_ms}: ${have.blocks} of ${blocks} blocks, or changed`);
  }
  for (const span of found.keys()) damage.push(`blocks ${span} stand where none were written`);
  return damage;
}

/** A table by its key. Each slice is a query of its own: between two the connection and the process do their other work. */
async function* slices<Row>(db: Database.Database, table: keyof typeof sliced): AsyncIterable<Row> {
  const { key, atOnce } = sliced[table];
  const columns = key.join(', ');
  const first = db.prepare<[], Record<string, unknown>>(`SELECT * FROM ${table} ORDER BY ${columns} LIMIT ${atOnce}`);
  const next = db.prepare<unknown[], Record<string, unknown>>(
    `SELECT * FROM ${table} WHERE (${columns}) > (${key.map(() => '?').join(', ')}) ORDER BY ${columns} LIMIT ${atOnce}`,
  );
  let rows = first.all();
  while (rows.length > 0) {
    yield* rows as Row[];
    const last = rows.at(-1)!;
    await nextTurn();
    rows = next.all(...key.map((column) => last[column]));
  }
}
