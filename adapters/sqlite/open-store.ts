import type Database from 'better-sqlite3';
import type { Store } from '../ports/store.ts';
import { backupTo, openStoreSource } from './backup.ts';
import { commitLog, settleLeft } from './commit-log.ts';
import { withCheckpoint } from './connection.ts';
import { documentTable } from './document-table.ts';
import { journalTable } from './journal-table.ts';
import { openSound } from './open-sound.ts';
import { outboxTable } from './outbox-table.ts';
import { ownFiles } from './own-files.ts';
import { readingIntake } from './reading-intake.ts';
import { runMark, storeId } from './run-mark.ts';
import { sideFile, sideFileIn, sideFileOf } from './side-file.ts';
import { guarded, StoreError } from './store-error.ts';
import { type StoreOptions, type StoreSettings, withDefaults } from './store-options.ts';

/**
 * Opens the store: one SQLite file, write-ahead log, fsync at each commit. One process writes it.
 *
 * Is: what `commit` was given is on disk when it returns; a damaged file is moved aside, salvaged and reported.
 * Is not: able to save readings younger than the last flush from a power cut.
 *
 * @throws StoreError  STORE_NEWER_SCHEMA, STORE_OLDER_SCHEMA, STORE_READ_ONLY, STORE_DISK_FULL, STORE_CANNOT_OPEN, STORE_BUSY, STORE_IO
 */
export function openStore(options: StoreOptions): Store {
  return toldInTurns(options, (settings) =>
    openSound(settings.path, settings.clock, settings.onFault, (db) => storeOver(db, settings)),
  );
}

/**
 * Opens a store whose faults are told in a turn of their own: whoever is told may store an alarm at once, and must not do so
 * in the middle of a write, nor before it holds the store.
 */
export function toldInTurns(options: StoreOptions, open: (settings: StoreSettings) => Store): Store {
  let isClosed = false;
  const settings = withDefaults({
    ...options,
    onFault: (fault) => {
      setImmediate(() => {
        if (!isClosed) options.onFault?.(fault);
      });
    },
  });
  const store = open(settings);
  return {
    ...store,
    close() {
      try {
        store.close();
      } finally {
        isClosed = true;
      }
    },
  };
}

/** @param whyUnsaved  why nothing of it reaches a disk, where it lives in memory alone */
export function storeOver(db: Database.Database, settings: StoreSettings, whyUnsaved?: string): Store {
  const { clock, onFault } = settings;
  settleLeft(db);
  const journal = journalTable(db, onFault);
  const outbox = outboxTable(db, settings.outboxLimit);
  const documents = documentTable(db, onFault);
  const commits = commitLog(db, { journal, outbox, documents });
  const mark = runMark(db);
  const side = whyUnsaved === undefined ? sideFile(sidePlaces(db, settings), mark.runs) : undefined;
  const intake = readingIntake(db, outbox, documents, commits, settings, side);
  const uncleanStop = mark.leave(clock.nowMs(), settings.flushMs, intake);

  // The mark is written by now, and with it there is a log.
  const files = side && ownFiles(db, settings.path, side, onFault);

  let isOpen = true;
  let isDamaged = false;

  /** Runs work on the file; a fault of the file comes out as StoreError. */
  function onFile<Result>(doing: string, work: () => Result): Result {
    if (!isOpen) throw new StoreError('STORE_CLOSED', `${doing}: the store is closed.`);
    try {
      return guarded(doing, work);
    } catch (error) {
      if (error instanceof StoreError && error.code === 'STORE_DAMAGED' && !isDamaged) {
        isDamaged = true;
        onFault({ kind: 'damaged', detail: error.message });
      }
      throw error;
    }
  }

  /** The same for what changes it in a transaction: nothing of work that fails stays. */
  function attempt<Result>(doing: string, work: () => Result): Result {
    try {
      return onFile(doing, work);
    } catch (error) {
      if (isOpen) outbox.remeasure();
      throw error;
    }
  }

  function write<Result>(doing: string, work: () => Result): Result {
    return attempt(doing, () => db.transaction(work).immediate());
  }

  /** For what works on the tables themselves. */
  function settle(doing: string, work: () => void = () => {}): void {
    write(doing, () => {
      commits.settle();
      work();
    });
  }

  function flush(): void {
    onFile('Storing readings', () => withCheckpoint(db, () => intake.flush()));
    files?.check();
    packLater(settings.packPauseMs);
  }

  let packTimer: NodeJS.Timeout | undefined;
  function packLater(afterMs: number): void {
    if (packTimer !== undefined || !intake.isPacking()) return;
    packTimer = setTimeout(() => {
      packTimer = undefined;
      try {
        onFile('Packing readings', () => intake.packStep());
        packLater(settings.packPauseMs);
      } catch (error) {
        // It goes on after the next flush, which reports a full disk.
        if (!(error instanceof StoreError)) throw error;
      }
    }, afterMs);
    packTimer.unref();
  }

  /** For flushes that nobody waits for: the failure has been reported, and the readings wait in memory. */
  function flushOrHold(): void {
    try {
      flush();
    } catch (error) {
      if (!(error instanceof StoreError)) throw error;
    }
  }

  function tellOfDropped(dropped: number): void {
    if (dropped > 0) onFault({ kind: 'outbox_dropped', detail: `Outbox full: ${dropped} oldest items dropped.` });
  }

  const timer = setInterval(flushOrHold, settings.flushMs);
  timer.unref();

  return {
    uncleanStop,
    whyUnsaved,

    add(readings) {
      intake.add(readings);
      if (intake.isFlushDue()) flushOrHold();
    },
    flush,

    commit(commit): number[] {
      const { result, isFlushed } = attempt('Storing', () =>
        intake.withReadings(() => commits.put(commit, clock.nowMs())),
      );
      const { ids, dropped } = result;
      // A flush that has more to do than to store readings keeps its time.
      if (isFlushed && !intake.isPackingDue()) timer.refresh();
      documents.overtake(commit.documents ?? []);
      outbox.forgetDelivered();
      tellOfDropped(dropped);
      return ids;
    },

    keepSoon: (given) => given.forEach(documents.wait),

    series: () => intake.series(),
    latest: (series) => onFile('Reading', () => intake.latest(series)),
    readings: (series, fromMs, toMs, limit) => onFile('Reading', () => intake.readings(series, fromMs, toMs, limit)),
    summaries: (series, resolution, fromMs, toMs) =>
      onFile('Reading', () => intake.summaries(series, resolution, fromMs, toMs)),
    journal: (query, read) => onFile('Reading the journal', () => journal.find(query, read)),
    document: (name) => onFile('Reading a document', () => documents.body(name)),

    outbox: (destination, limit) => onFile('Reading the outbox', () => outbox.waiting(destination, limit)),
    acknowledge(ids) {
      onFile('Taking from the outbox', () => outbox.acknowledge(ids));
      side?.delivered(ids);
      if (!outbox.isMuchDelivered()) return;
      write('Taking from the outbox', () => {
        outbox.removeDelivered();
        commits.note();
      });
      outbox.forgetDelivered();
    },
    park: (id, reason) => settle('Parking', () => outbox.park(id, reason)),
    parked: (destination, limit) => onFile('Reading the outbox', () => outbox.parked(destination, limit)),
    unpark: (ids) => settle('Unparking', () => outbox.unpark(ids)),
    outboxDepth: (destination) => onFile('Reading the outbox', () => outbox.depth(destination)),

    rewrite(series, fromMs, toMs, change, together) {
      flush();
      settle('Changing readings');
      let dropped = 0;
      const reached =
        together &&
        ((reachedMs: number) => {
          dropped += commits.put(together(reachedMs), clock.nowMs()).dropped;
        });
      try {
        return onFile('Changing readings', () => intake.rewrite(series, fromMs, toMs, change, reached));
      } catch (error) {
        if (isOpen) outbox.remeasure();
        throw error;
      } finally {
        tellOfDropped(dropped);
      }
    },

    dropReadingsBefore(timeMs) {
      flush();
      return onFile('Deleting old readings', () => intake.dropBefore(timeMs));
    },

    async backup(path) {
      flush();
      await backupTo(openStoreSource(db), path, onFault);
    },

    close() {
      if (!isOpen) return;
      clearInterval(timer);
      try {
        flush();
        clearTimeout(packTimer);
        // An older release that opens the file next knows nothing of steps.
        onFile('Packing readings', () => intake.finishPacking());
        // Where damage was met the mark stays: the next start then looks through the whole file.
        if (!isDamaged) onFile('Closing', () => mark.remove());
        files?.finish();
      } finally {
        isOpen = false;
        side?.close();
        db.close();
      }
    },
  };
}

/** Where what waits for a flush lies: in memory where there is a folder for it, beside the store in any case. */
function sidePlaces(db: Database.Database, { path, unflushedFolder }: StoreSettings): string[] {
  const beside = sideFileOf(path);
  return unflushedFolder === undefined ? [beside] : [sideFileIn(unflushedFolder, storeId(db)), beside];
}
