import Database from 'better-sqlite3';

/** Opens a file with the settings every writer needs. The log is synced at each commit, so a commit survives a power cut. */
export function connect(path: string): Database.Database {
  const db = new Database(path, { timeout: 2_000 });
  try {
    db.pragma('journal_mode = WAL');
    db.pragma('synchronous = FULL');
    // After a burst the log shrinks again: cards are small.
    db.pragma('journal_size_limit = 16777216');
    return db;
  } catch (error) {
    db.close();
    throw error;
  }
}
