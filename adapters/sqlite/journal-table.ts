import type Database from 'better-sqlite3';
import {
  type JournalEntry,
  type JournalKind,
  type JournalQuery,
  journalKinds,
  type KeptEntry,
} from '../ports/store.ts';
import { rowCheck } from './row-check.ts';
import { StoreError } from './store-error.ts';
import type { StoreFault } from './store-options.ts';

export type JournalRow = {
  id: number;
  kind: string;
  time_ms: number;
  recorded_ms: number;
  system: string;
  body: string;
  corrects: number | null;
  root: number | null;
  is_withdrawn: number;
  key: string | null;
};

/** The check of an entry over everything a person entered. */
export function journalCheck(row: JournalRow): number {
  const { id, kind, time_ms, recorded_ms, system, body, corrects, root, is_withdrawn, key } = row;
  return rowCheck(id, kind, time_ms, recorded_ms, system, body, corrects, root, is_withdrawn, key);
}

/** @param into  as which statement, up to the name of the table */
export function putRow(db: Database.Database, into: string): (row: JournalRow) => void {
  const insert = db.prepare(
    `${into} (id, kind, time_ms, recorded_ms, system, body, corrects, root, is_withdrawn, key, row_check)
      VALUES ($id, $kind, $time_ms, $recorded_ms, $system, $body, $corrects, $root, $is_withdrawn, $key, $row_check)`,
  );
  return (row) => void insert.run({ ...row, row_check: journalCheck(row) });
}

/** The last of a line of corrections speaks for all of it; when it withdraws, nothing does. */
const standing = `is_withdrawn = 0 AND NOT EXISTS
  (SELECT 1 FROM journal_all AS later WHERE later.root = coalesce(journal_all.root, journal_all.id) AND later.id > journal_all.id)`;

/**
 * The append-only journal. An entry that differs from what was written (a flipped bit) is left out and reported: a dose
 * with a wrong number is worse than one that is known to be missing.
 */
export function journalTable(db: Database.Database, onFault: (fault: StoreFault) => void) {
  // What is in the log of commits alone. As strict as the table: what that would refuse must not be in the log either.
  db.exec(`
    CREATE TEMP TABLE IF NOT EXISTS new_journal (
      id INTEGER PRIMARY KEY, kind TEXT NOT NULL, time_ms INTEGER NOT NULL, recorded_ms INTEGER NOT NULL, system TEXT NOT NULL,
      body TEXT NOT NULL, corrects INTEGER, root INTEGER, is_withdrawn INTEGER NOT NULL, key TEXT UNIQUE, row_check INTEGER NOT NULL
    ) STRICT;
    CREATE INDEX IF NOT EXISTS temp.new_journal_by_root ON new_journal (root, id) WHERE root IS NOT NULL;
    CREATE TEMP VIEW IF NOT EXISTS journal_all AS SELECT * FROM main.journal UNION ALL SELECT * FROM temp.new_journal;
  `);
  const reported = new Set<number>();
  function report(id: number, kind: 'damaged' | 'entry_unreadable', detail: string): void {
    if (reported.has(id)) return;
    reported.add(id);
    onFault({ kind, detail });
  }

  function isAsWritten(row: JournalRow & { row_check: number }): boolean {
    if (journalCheck(row) === row.row_check) return true;
    report(row.id, 'damaged', `Journal entry ${row.id} has changed on disk and is left out.`);
    return false;
  }

  const byKey = db.prepare<[string], { id: number }>('SELECT id FROM journal_all WHERE key = ?');
  const rootOf = db.prepare<[number], { root: number }>(
    'SELECT coalesce(root, id) AS root FROM journal_all WHERE id = ?',
  );
  const lastId = db.prepare<[], { id: number }>(
    `SELECT max(coalesce((SELECT seq FROM main.sqlite_sequence WHERE name = 'journal'), 0),
      coalesce((SELECT max(id) FROM temp.new_journal), 0)) AS id`,
  );
  const put = putRow(db, 'INSERT INTO main.journal');
  const putNew = putRow(db, 'INSERT INTO temp.new_journal');
  const newRows = db.prepare<[], JournalRow>('SELECT * FROM temp.new_journal ORDER BY id');
  const fromNew = db.prepare('INSERT INTO main.journal SELECT * FROM temp.new_journal ORDER BY id');
  const forgetNew = db.prepare('DELETE FROM temp.new_journal');

  type Find = Database.Statement<(string | number)[], JournalRow & { row_check: number }>;
  /** By what is asked: the closed number of ways of asking makes it short, and to make one again takes longer than the answer. */
  const finds = new Map<string, Find>();
  function prepared(sql: string): Find {
    const find = finds.get(sql) ?? db.prepare<(string | number)[], JournalRow & { row_check: number }>(sql);
    finds.set(sql, find);
    return find;
  }

  return {
    /**
     * Inside a transaction. Gives the id, of the older entry for a key that is already there; with its row otherwise.
     *
     * @param isNew  only in memory: the row goes into the log of commits
     * @throws StoreError STORE_UNKNOWN_ENTRY  for a correction of an entry that is not in the journal
     */
    append(entry: JournalEntry, isNew = false): { id: number; row?: JournalRow } {
      const older = entry.key === undefined ? undefined : byKey.get(entry.key);
      if (older) return { id: older.id };
      const root = entry.corrects === undefined ? null : rootOf.get(entry.corrects)?.root;
      if (root === undefined) {
        throw new StoreError('STORE_UNKNOWN_ENTRY', `A correction names journal entry ${entry.corrects}, not found.`);
      }
      const id = lastId.get()!.id + 1;
      const row = rowOf({ ...entry, id }, root);
      if (isNew) putNew(row);
      else put(row);
      return { id, row };
    },

    /** What is in memory alone. */
    newRows: () => newRows.all(),
    /** Inside a transaction: what was in memory alone comes into the table. */
    settle(): void {
      fromNew.run();
      forgetNew.run();
    },

    /** Inside a transaction: an entry of another store with the id that it has there. One that it corrects may be lost. */
    putBack(entry: KeptEntry): void {
      put(rowOf(entry, entry.corrects === undefined ? null : (rootOf.get(entry.corrects)?.root ?? entry.corrects)));
    },

    /** Corrected and withdrawn ones too, by id. */
    *everyEntry(): Iterable<KeptEntry> {
      const rows = db.prepare<[], JournalRow & { row_check: number }>('SELECT * FROM journal_all ORDER BY id');
      for (const row of rows.iterate()) {
        if (!isAsWritten(row)) continue;
        if (isJournalKind(row.kind)) yield entryFromRow(row);
        else report(row.id, 'entry_unreadable', `Journal entry ${row.id} is of an unknown kind and is left out.`);
      }
    },

    find<Read = KeptEntry>(query: JournalQuery, read?: (entry: KeptEntry) => Read | undefined): Read[] {
      const conditions: string[] = [];
      const values: (string | number)[] = [];
      const where = (condition: string, value: string | number | undefined) => {
        if (value === undefined) return;
        conditions.push(condition);
        values.push(value);
      };
      where('id = ?', query.id);
      where('key = ?', query.key);
      where('kind = ?', query.kind);
      where('system = ?', query.system);
      where('time_ms >= ?', query.fromMs);
      where('time_ms < ?', query.toMs);
      where('id > ?', query.afterId);
      if (!query.history) conditions.push(standing);
      const direction = query.order === 'newest' ? 'DESC' : 'ASC';
      const clause = conditions.length > 0 ? `WHERE ${conditions.join(' AND ')}` : '';
      return prepared(`SELECT * FROM journal_all ${clause} ORDER BY time_ms ${direction}, id ${direction} LIMIT ?`)
        .all(...values, query.limit ?? -1)
        .filter((row) => isAsWritten(row) && isJournalKind(row.kind))
        .flatMap((row): Read[] => {
          const entry = entryFromRow(row);
          // Without a reader the entry itself is what is asked for.
          const found = read === undefined ? (entry as Read) : read(entry);
          if (found !== undefined) return [found];
          const detail = `Journal entry ${row.id} (${row.kind}) has a form that this version does not know and is left out.`;
          report(row.id, 'entry_unreadable', detail);
          return [];
        });
    },
  };
}

export type JournalTable = ReturnType<typeof journalTable>;

function isJournalKind(text: string): text is JournalKind {
  return (journalKinds as readonly string[]).includes(text);
}

function rowOf(entry: KeptEntry, root: number | null): JournalRow {
  return {
    id: entry.id,
    kind: entry.kind,
    time_ms: entry.timeMs,
    recorded_ms: entry.recordedMs,
    system: entry.system,
    body: JSON.stringify(entry.body),
    corrects: entry.corrects ?? null,
    root,
    is_withdrawn: entry.isWithdrawn ? 1 : 0,
    key: entry.key ?? null,
  };
}

function entryFromRow(row: JournalRow): KeptEntry {
  return {
    id: row.id,
    kind: row.kind as JournalKind,
    timeMs: row.time_ms,
    recordedMs: row.recorded_ms,
    system: row.system,
    body: JSON.parse(row.body) as Record<string, unknown>,
    ...(row.corrects !== null && { corrects: row.corrects }),
    ...(row.is_withdrawn === 1 && { isWithdrawn: true }),
    ...(row.key !== null && { key: row.key }),
  };
}
