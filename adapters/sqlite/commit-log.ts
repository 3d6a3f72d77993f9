import { deflateRawSync, inflateRawSync } from 'node:zlib';
import type Database from 'better-sqlite3';
import type { Commit } from '../ports/store.ts';
import { commitWords } from './commit-words.ts';
import { type DocumentTable, type NamedDocument, putInTable } from './document-table.ts';
import { commitMark, endOfLog, isCommit, type LogRow, logCheck } from './flush-log.ts';
import { type JournalRow, type JournalTable, putRow } from './journal-table.ts';
import type { OutboxRow, OutboxTable } from './outbox-table.ts';

/**
 * What a transaction stored, as a row of the log. `gone`: ids of items that have left the outbox since an earlier row put them
 * there; `overtaken`: documents of earlier rows whose table has a newer form. `isSettled`: all that the rows before this one hold is in the tables.
 */
type Logged = {
  entries?: readonly JournalRow[];
  outbox?: readonly OutboxRow[];
  documents?: readonly NamedDocument[];
  gone?: readonly number[];
  overtaken?: readonly string[];
  isSettled?: true;
};

/** A larger transaction would only be written twice. */
const mostItems = 16;
/** So much in the log brings it into the tables: memory holds it, and a start reads it, bytes. */
const mostBytes = 256 * 1024;
/** Up to this a packing of readings, which empties the log, leaves it there: some days of an ordinary room. */
const mostCarried = 4096;

/** What a person entered lies in its own table at once; an event of an alarm and its messages may wait in the log. */
function isSmallNews({ entries = [], outbox = [] }: Commit): boolean {
  const items = entries.length + outbox.length;
  return (
    items > 0 && items <= mostItems && entries.every(({ kind, corrects }) => kind === 'alarm' && corrects === undefined)
  );
}

function toBytes(logged: Logged): Buffer {
  return Buffer.concat([
    Buffer.of(commitMark),
    deflateRawSync(JSON.stringify(logged), { dictionary: commitWords, level: 9 }),
  ]);
}

function fromBytes(body: Buffer): Logged {
  return JSON.parse(inflateRawSync(body.subarray(1), { dictionary: commitWords }).toString('utf8')) as Logged;
}

/** The same in every log, so that one whose body or check has changed is still known by the other. */
const settledBody = toBytes({ isSettled: true });

function isSettledRow({ id, body, row_check }: LogRow): boolean {
  return body.equals(settledBody) || row_check === logCheck({ id, body: settledBody });
}

type Tables = { journal: JournalTable; outbox: OutboxTable; documents: DocumentTable };

/**
 * Transactions. Those of an alarm go as one row each to the end of the log, which every flush writes to as well: brought into
 * their tables one by one, an entry of the journal, two messages and what is remembered of an alarm change a dozen pages of the file,
 * and so two. They come into the tables some together: when they are many, and at a start.
 *
 * Is: as durable as any transaction; read together with the tables, from tables of the same form in memory.
 */
export function commitLog(db: Database.Database, { journal, outbox, documents }: Tables) {
  const log = endOfLog(db);
  /** About: a transaction that was rolled back is not taken off. */
  let bytes = 0;

  /** Inside a transaction. */
  function append(logged: Logged): void {
    const body = toBytes(logged);
    log.append(body);
    bytes += body.length;
  }

  const unsettled = () => ({ entries: journal.newRows(), outbox: outbox.newRows(), documents: documents.newRows() });
  const isAny = ({ entries, outbox: items, documents: given }: ReturnType<typeof unsettled>) =>
    entries.length + items.length + given.length > 0;

  function intoTables(): void {
    outbox.takeGone();
    journal.settle();
    outbox.settle();
    documents.settle();
  }

  const commits = {
    /**
     * Inside a transaction: what belongs together, in the log or in the tables.
     *
     * @returns ids of the entries, and how many old items had to leave the outbox for new ones
     */
    put(commit: Commit, nowMs: number): { ids: number[]; dropped: number } {
      const { entries = [], outbox: items = [], documents: given = [] } = commit;
      const isLogged = isSmallNews(commit);
      // What is older in the log must not come over it later.
      if (!isLogged && documents.isAnyNew(given)) commits.settle();
      outbox.removeDelivered();
      const kept = entries.map((entry) => journal.append(entry, isLogged));
      for (const document of given) documents.put(document, isLogged);
      const sent = items.map((item) => outbox.put(item, nowMs, isLogged));
      const rows = sent.flatMap(({ row }) => row ?? []);
      if (isLogged) {
        const gone = outbox.takeGone();
        append({
          entries: kept.flatMap(({ row }) => row ?? []),
          outbox: rows,
          documents: given,
          ...(gone.length > 0 && { gone }),
        });
      } else commits.note();
      return { ids: kept.map(({ id }) => id), dropped: sent.reduce((sum, { dropped }) => sum + dropped, 0) };
    },

    /** Inside a transaction: what of the log no longer holds, and documents that come with readings. */
    note({ logged, overtaken }: ReturnType<DocumentTable['putWaiting']> = { logged: [], overtaken: [] }): void {
      const gone = outbox.takeGone();
      if (gone.length + overtaken.length + logged.length === 0) return;
      append({
        ...(logged.length > 0 && { documents: logged }),
        ...(gone.length > 0 && { gone }),
        ...(overtaken.length > 0 && { overtaken }),
      });
    },

    isLong: (): boolean => bytes > mostBytes,

    /** Inside a transaction: brings all into the tables. */
    settle(): void {
      if (!isAny(unsettled())) return;
      intoTables();
      log.append(settledBody);
      bytes = 0;
    },

    /** Inside the transaction that has emptied the log. */
    carryOver(): void {
      const rest = unsettled();
      bytes = 0;
      if (!isAny(rest)) return;
      outbox.takeGone();
      const body = toBytes(rest);
      if (body.length > mostCarried) intoTables();
      else append(rest);
    },
  };
  return commits;
}

export type CommitLog = ReturnType<typeof commitLog>;

/**
 * Brings what an earlier process left in the log into the tables. Before anything of them is read.
 *
 * Is: one transaction, and none where nothing is left. A row that has changed stays out; who loads the log tells of it.
 *
 * @param isOfOldLog  rows behind the last that is settled are of an earlier state of the log: entries alone are taken from them, since
 *   documents have newer forms and messages may have been delivered
 */
export function settleLeft(db: Database.Database, isOfOldLog = false): void {
  const left: Logged[] = isOfOldLog ? logged(db).map(({ entries = [] }) => ({ entries })) : logged(db);
  if (left.length === 0) return;
  const documents = new Map<string, string>();
  for (const each of left) {
    for (const { name, body } of each.documents ?? []) documents.set(name, body);
    for (const name of each.overtaken ?? []) documents.delete(name);
  }
  const gone = new Set(left.flatMap((each) => each.gone ?? []));
  const putItem = db.prepare(
    'INSERT OR IGNORE INTO outbox (destination, id, key, payload, created_ms) VALUES ($destination, $id, $key, $payload, $created_ms)',
  );
  const putDocument = db.prepare<[string, string, number]>(
    'INSERT OR REPLACE INTO documents (name, body, row_check) VALUES (?, ?, ?)',
  );
  const putEntry = putRow(db, 'INSERT OR IGNORE INTO main.journal');
  db.transaction(() => {
    for (const row of left.flatMap(({ entries }) => entries ?? [])) putEntry(row);
    for (const item of left.flatMap(({ outbox }) => outbox ?? [])) if (!gone.has(item.id)) putItem.run(item);
    for (const [name, body] of documents) putInTable(putDocument, { name, body });
    endOfLog(db).append(settledBody);
  }).immediate();
}

function logged(db: Database.Database): Logged[] {
  let left: Logged[] = [];
  for (const row of db.prepare<[], LogRow>('SELECT id, body, row_check FROM flush_log ORDER BY id').iterate()) {
    if (isSettledRow(row)) left = [];
    else if (isCommit(row) && logCheck(row) === row.row_check) left.push(fromBytes(row.body));
  }
  return left;
}
