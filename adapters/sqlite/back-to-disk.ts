import { closeSync, existsSync, mkdirSync, openSync, rmSync, statfsSync, statSync, writeSync } from 'node:fs';
import { dirname } from 'node:path';
import type Database from 'better-sqlite3';
import type { Reading } from '#rules/quality/reading.ts';
import type { Store } from '../ports/store.ts';
import { syncPath } from './backup.ts';
import type { StoreSettings } from './store-options.ts';

/** Pages of a kilobyte that are copied in one turn, so that probes are heard between. */
const pagesInATurn = 4_000;
/** The copy lies in the log before it lies in the file, and something is left for what comes next. */
const timesTheRoom = 2.2;

/** What tells whether a file is still the one that was read: none, or its place, size and time, and those of its log. */
export function traceOf(path: string): string {
  return ['', '-wal']
    .map((suffix) => {
      const found = statSync(path + suffix, { throwIfNoEntry: false });
      return found === undefined || found.size === 0 ? 'none' : `${found.ino} ${found.size} ${found.mtimeMs}`;
    })
    .join(', ');
}

/** The disk takes a file and has room for a record of so many bytes. */
function takes(path: string, bytes: number): boolean {
  const tried = `${path}.tried`;
  try {
    mkdirSync(dirname(path), { recursive: true });
    const { bavail, bsize } = statfsSync(dirname(path));
    if (bavail * bsize < bytes * timesTheRoom) return false;
    const file = openSync(tried, 'w', 0o600);
    try {
      writeSync(file, Buffer.alloc(4_096, 1));
    } finally {
      closeSync(file);
    }
    syncPath(tried);
    return true;
  } catch {
    return false;
  } finally {
    try {
      rmSync(tried, { force: true });
    } catch {
      // Where it cannot be removed it could not be made.
    }
  }
}

/**
 * A store that lives in memory and goes back to its file by itself, as soon as the disk takes it. The memory began as the whole of
 * that file and has all that came since, so it is written over the file in one transaction of SQLite: a kill at any moment leaves
 * the file as it was or as it shall be. Ids of entries and of the outbox stay the same.
 *
 * Is: readings, delivered notices and documents that come while it copies are handed to the store on disk after it. Nothing that a
 * person was answered about can be lost, since entries are refused until then.
 * Is not: done where the file is no longer the one that was read (somebody has put another in its place). What a restart does then
 * is said by `onChanged`.
 *
 * @param trace      of the file when it was read
 * @param onDisk     opens the file, as at a start
 * @param onChanged  the file is another one; told once
 */
export function backToDisk(
  inMemory: Store,
  db: Database.Database,
  settings: StoreSettings,
  trace: string,
  onDisk: () => Store,
  onChanged: () => void,
): Store {
  const { path } = settings;
  let current = inMemory;
  let known = trace;
  let isClosed = false;
  /** What came while the memory is copied, and may wait there for a flush: it is said to the store on disk again. */
  let meanwhile: { readings: Reading[]; documents: Set<string>; delivered: number[] } | undefined;

  function goOver({ readings, documents, delivered }: NonNullable<typeof meanwhile>): void {
    const disk = onDisk();
    current = disk;
    disk.keepSoon([...documents].map((name) => ({ name, body: inMemory.document(name) ?? '' })));
    disk.acknowledge(delivered);
    // A second reading of one moment is dropped.
    disk.add(readings);
  }

  async function copy(): Promise<void> {
    // All that waits in memory for a flush or a commit goes into the tables that are copied.
    current.flush();
    current.commit({});
    meanwhile = { readings: [], documents: new Set(), delivered: [] };
    if (!existsSync(path)) closeSync(openSync(path, 'a', 0o600));
    await db.backup(path, { progress: () => pagesInATurn });
    if (isClosed) return;
    // From here to the new store nothing else runs.
    known = traceOf(path);
    goOver(meanwhile);
    const detail = 'The disk takes the record again, and what was watched from memory is in it.';
    settings.onFault({ kind: 'saved_again', detail });
    inMemory.close();
  }

  let isTrying = false;
  async function tryIt(): Promise<void> {
    const pages = Number(db.pragma('page_count', { simple: true }));
    if (!takes(path, pages * Number(db.pragma('page_size', { simple: true })))) return;
    if (traceOf(path) !== known) {
      clearInterval(timer);
      onChanged();
      return;
    }
    try {
      await copy();
      clearInterval(timer);
    } catch {
      // The disk has failed again, or another process has the file: the memory holds all of it, and the next try comes.
      known = traceOf(path);
    } finally {
      meanwhile = undefined;
    }
  }
  const timer = setInterval(() => {
    if (isTrying || isClosed) return;
    isTrying = true;
    void tryIt()
      .catch(() => {})
      .finally(() => {
        isTrying = false;
      });
  }, settings.tryDiskEveryMs);
  timer.unref();

  /** A call of the store that there is now. */
  const now =
    <Args extends unknown[], Result>(call: (store: Store, ...args: Args) => Result) =>
    (...args: Args): Result =>
      call(current, ...args);

  return {
    uncleanStop: inMemory.uncleanStop,
    whyUnsaved: inMemory.whyUnsaved,
    add(readings) {
      meanwhile?.readings.push(...readings);
      current.add(readings);
    },
    keepSoon(given) {
      for (const { name } of given) meanwhile?.documents.add(name);
      current.keepSoon(given);
    },
    acknowledge(ids) {
      meanwhile?.delivered.push(...ids);
      current.acknowledge(ids);
    },
    flush: now((store) => store.flush()),
    commit: now((store, commit) => store.commit(commit)),
    series: now((store) => store.series()),
    latest: now((store, series) => store.latest(series)),
    readings: now((store, ...asked) => store.readings(...asked)),
    summaries: now((store, ...asked) => store.summaries(...asked)),
    journal: (query, read) => current.journal(query, read),
    document: now((store, name) => store.document(name)),
    outbox: now((store, ...asked) => store.outbox(...asked)),
    park: now((store, ...asked) => store.park(...asked)),
    parked: now((store, ...asked) => store.parked(...asked)),
    unpark: now((store, ids) => store.unpark(ids)),
    outboxDepth: now((store, destination) => store.outboxDepth(destination)),
    rewrite: now((store, ...asked) => store.rewrite(...asked)),
    dropReadingsBefore: now((store, timeMs) => store.dropReadingsBefore(timeMs)),
    backup: now((store, to) => store.backup(to)),
    close() {
      if (isClosed) return;
      isClosed = true;
      clearInterval(timer);
      current.close();
    },
  };
}
