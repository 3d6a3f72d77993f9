import { randomUUID } from 'node:crypto';
import type Database from 'better-sqlite3';

/** The row in `meta` of a backup, until a hub opens it as its store. */
export const backupMark = 'backup';
/** The row in `meta` that stands while a process has the store open. */
const markName = 'running';
/** The row in `meta` with the name of this store among others; a backup has none, and gets its own when it takes a store's place. */
const idName = 'store';

/** This run of a process on the store, and the one before where that did not close it. */
export type Runs = { run: string; before: string | undefined };

type Mark = { sinceMs: number; flushMs: number; run?: string };

/** Made at the first opening. */
export function storeId(db: Database.Database): string {
  db.prepare('INSERT OR IGNORE INTO meta (name, body) VALUES (?, ?)').run(idName, randomUUID());
  return db.prepare<[string], string>('SELECT body FROM meta WHERE name = ?').pluck().get(idName)!;
}

/** Of a copy: without a trace of the process that wrote the store. */
export function forgetRun(db: Database.Database): void {
  db.prepare('DELETE FROM meta WHERE name IN (?, ?)').run(markName, idName);
}

/** The mark of a run, which only a proper close takes away. */
export function runMark(db: Database.Database) {
  const found = db.prepare<[string], string>('SELECT body FROM meta WHERE name = ?').pluck().get(markName);
  const before = found === undefined ? undefined : (JSON.parse(found) as Mark);
  const run = randomUUID();
  return {
    runs: { run, before: before?.run } satisfies Runs,

    /**
     * @param flushMs  of this run; an earlier run wrote its own
     * @returns what is to be said of a stop without a close before
     */
    leave(
      nowMs: number,
      flushMs: number,
      intake: { newestMs(): number | undefined; tookOver: number },
    ): string | undefined {
      db.prepare('DELETE FROM meta WHERE name = ?').run(backupMark);
      const mark: Mark = { sinceMs: nowMs, flushMs, run };
      db.prepare('INSERT OR REPLACE INTO meta (name, body) VALUES (?, ?)').run(markName, JSON.stringify(mark));
      if (before === undefined) return undefined;
      const newestMs = intake.newestMs();
      const last = newestMs === undefined ? 'no reading' : `the last reading of ${new Date(newestMs).toISOString()}`;
      return (
        `The hub that started at ${new Date(before.sinceMs).toISOString()} stopped without closing its store. ` +
        `The record ends with ${last}; ${intake.tookOver} readings of it had not been flushed and were taken over. ` +
        `Only if the power failed, readings of up to ${before.flushMs / 1000} s after it may be lost. ` +
        'Tests, doses and alarms that were confirmed are all there.'
      );
    },

    remove: () => db.prepare('DELETE FROM meta WHERE name = ?').run(markName),
  };
}
