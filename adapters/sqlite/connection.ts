import { chmodSync, closeSync, existsSync, openSync } from 'node:fs';
import Database from 'better-sqlite3';

/** The log goes into the file every 4 MB, so that a page that many commits changed is written once. */
const usualLogPages = 4_000;
/** At this length it does whoever commits. */
const mostLogPages = 12_000;

/**
 * Opens a file with the settings every writer needs. The log is synced at each commit, so a commit survives a power cut.
 *
 * Is: the only one that has the file open, until it is closed; a second process is told that the store is busy.
 */
export function connect(path: string): Database.Database {
  // Made with its mode before SQLite makes it with that of the process; its log takes the mode of the file.
  if (!existsSync(path)) closeSync(openSync(path, 'a', 0o600));
  const db = new Database(path, { timeout: 2_000 });
  try {
    ownerAlone(path);
    // A commit of a few rows writes whole pages: small ones halve what reaches the card. Takes effect in a new file only.
    db.pragma('page_size = 1024');
    // Alone with the file SQLite keeps the index of the log in memory. Else that is a file too, changed by each commit, and
    // the kernel writes it out every half minute: as much a day as everything else together.
    db.pragma('locking_mode = EXCLUSIVE');
    db.pragma('journal_mode = WAL');
    db.pragma(`wal_autocheckpoint = ${mostLogPages}`);
    db.pragma('synchronous = FULL');
    // After a burst the log shrinks again: cards are small.
    db.pragma('journal_size_limit = 16777216');
    return db;
  } catch (error) {
    db.close();
    throw error;
  }
}

/** The record is nobody's business but the hub's; on a file system without modes, or of another owner, it stays as it is. */
function ownerAlone(path: string): void {
  for (const suffix of ['', '-wal']) {
    try {
      chmodSync(path + suffix, 0o600);
    } catch {
      // There is no log yet, or the mode is not ours to set.
    }
  }
}

/**
 * Runs a transaction whose commit does not wait for the disk: for what a power cut may take back, such as that a message
 * was delivered. It stays behind a kill of the process, reaches the disk with the next commit that waits, and the file is
 * whole in any case (https://www.sqlite.org/pragma.html#pragma_synchronous, NORMAL with a write-ahead log).
 */
export function withoutSync<Result>(db: Database.Database, work: () => Result): Result {
  db.pragma('synchronous = NORMAL');
  try {
    return work();
  } finally {
    db.pragma('synchronous = FULL');
  }
}

/**
 * Runs what nobody waits for; the log then goes into the file as soon as it is long enough. That takes some ten synced
 * milliseconds and more, by which an alarm that commits at the wrong moment would be late.
 */
export function withCheckpoint<Result>(db: Database.Database, work: () => Result): Result {
  db.pragma(`wal_autocheckpoint = ${usualLogPages}`);
  try {
    return work();
  } finally {
    db.pragma(`wal_autocheckpoint = ${mostLogPages}`);
  }
}
