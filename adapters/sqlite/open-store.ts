import type Database from 'better-sqlite3';
import type { Commit, Store } from '../ports/store.ts';
import { backupTo } from './backup.ts';
import { journalTable } from './journal-table.ts';
import { openSound } from './open-sound.ts';
import { outboxTable } from './outbox-table.ts';
import { readingIntake } from './reading-intake.ts';
import { rowCheck } from './row-check.ts';
import { guarded, StoreError } from './store-error.ts';
import { type StoreOptions, withDefaults } from './store-options.ts';

/**
 * Opens the store: one SQLite file, write-ahead log, fsync at each commit. One process writes it.
 *
 * Is: what `commit` was given is on disk when it returns; a damaged file is moved aside, salvaged and reported.
 * Is not: able to save readings younger than the last flush from a power cut.
 *
 * @throws StoreError  STORE_NEWER_SCHEMA, STORE_READ_ONLY, STORE_DISK_FULL, STORE_CANNOT_OPEN, STORE_BUSY, STORE_IO
 */
export function openStore(options: StoreOptions): Store {
  const settings = withDefaults(options);
  const { clock, onFault } = settings;
  const opening = `Opening ${settings.path}`;
  const db = openSound(settings.path, clock, onFault);
  try {
    return guarded(opening, () => storeOver(db, settings));
  } catch (error) {
    db.close();
    throw error;
  }
}

function storeOver(db: Database.Database, settings: ReturnType<typeof withDefaults>): Store {
  const { clock, onFault } = settings;
  const journal = journalTable(db);
  const outbox = outboxTable(db, settings.outboxLimit);
  const intake = readingIntake(db, outbox, settings);
  const getDocument = db.prepare<[string], { body: string }>('SELECT body FROM documents WHERE name = ?');
  const putDocument = db.prepare<[string, string, number]>(
    'INSERT OR REPLACE INTO documents (name, body, row_check) VALUES (?, ?, ?)',
  );
  const marker = runMarker(db, clock.nowMs(), settings.flushMs, intake.newestOnDiskMs());

  const timer = setInterval(() => intake.flushOrHold(), settings.flushMs);
  timer.unref();
  let isOpen = true;

  /** Runs work that changes the file in a transaction; its failure is a StoreError, and nothing of it stays. */
  function write<Result>(doing: string, work: () => Result): Result {
    if (!isOpen) throw new StoreError('STORE_CLOSED', `${doing}: the store is closed.`);
    try {
      return guarded(doing, () => db.transaction(work).immediate());
    } catch (error) {
      outbox.remeasure();
      throw error;
    }
  }

  return {
    uncleanStop: marker.uncleanStop,

    add: (readings) => intake.add(readings),
    flush: () => intake.flush(),

    commit({ entries = [], outbox: items = [], documents = [] }: Commit): number[] {
      let dropped = 0;
      const ids = write('Storing', () => {
        const appended = entries.map((entry) => journal.append(entry));
        for (const { name, body } of documents) putDocument.run(name, body, rowCheck(name, body));
        for (const item of items) dropped += outbox.put(item, clock.nowMs());
        return appended;
      });
      if (dropped > 0) onFault({ kind: 'outbox_dropped', detail: `Outbox full: ${dropped} oldest items dropped.` });
      return ids;
    },

    series: () => intake.series(),
    latest: (series) => intake.latest(series),
    readings: (series, fromMs, toMs, limit) => intake.readings(series, fromMs, toMs, limit),
    summaries: (series, resolution, fromMs, toMs) => intake.summaries(series, resolution, fromMs, toMs),
    journal: (query) => guarded('Reading the journal', () => journal.find(query)),
    document: (name) => guarded('Reading a document', () => getDocument.get(name)?.body),

    outbox: (destination, limit) => guarded('Reading the outbox', () => outbox.waiting(destination, limit)),
    acknowledge: (ids) => write('Taking from the outbox', () => outbox.acknowledge(ids)),
    park: (id, reason) => write('Parking', () => outbox.park(id, reason)),
    outboxDepth: (destination) => outbox.depth(destination),

    dropReadingsBefore: (timeMs) => intake.dropReadingsBefore(timeMs),

    async backup(path) {
      intake.flush();
      intake.saveSummaries();
      await backupTo(db, path, onFault);
    },

    close() {
      if (!isOpen) return;
      clearInterval(timer);
      try {
        intake.flush();
        intake.saveSummaries();
        marker.remove();
      } finally {
        isOpen = false;
        db.close();
      }
    },
  };
}

/** The row in `meta` that stands while a process has the store open. */
const markerName = 'running';

/**
 * Leaves a mark that only a proper close takes away.
 *
 * @param flushMs  of this run; an earlier run wrote its own
 */
function runMarker(db: Database.Database, nowMs: number, flushMs: number, newestMs: number | undefined) {
  const found = db.prepare<[string], { body: string }>('SELECT body FROM meta WHERE name = ?').get(markerName);
  db.prepare('INSERT OR REPLACE INTO meta (name, body) VALUES (?, ?)').run(
    markerName,
    JSON.stringify({ sinceMs: nowMs, flushMs }),
  );
  let uncleanStop: string | undefined;
  if (found) {
    const before = JSON.parse(found.body) as { sinceMs: number; flushMs: number };
    const last = newestMs === undefined ? 'no reading' : `the last reading of ${new Date(newestMs).toISOString()}`;
    uncleanStop =
      `The hub that started at ${new Date(before.sinceMs).toISOString()} stopped without closing its store. ` +
      `The record ends with ${last}; readings of up to ${before.flushMs / 1000} s after it may be lost. ` +
      'Tests, doses and alarms that were confirmed are all there.';
  }
  return {
    uncleanStop,
    remove: () => db.prepare('DELETE FROM meta WHERE name = ?').run(markerName),
  };
}
