import { closeSync, fsyncSync, openSync, renameSync, rmSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import { type Damage, findDamage } from './find-damage.ts';
import { backupMark, forgetRun } from './run-mark.ts';
import { StoreError } from './store-error.ts';
import type { StoreFault } from './store-options.ts';

/** The store of which a copy is made. */
export type BackupSource = {
  /** Makes a file that SQLite can open, with its log beside it or without. */
  copyTo(path: string): Promise<void>;
  /** What is wrong with the store itself; asked only when the copy shows changed values. */
  damage(): Promise<Damage>;
};

/** The store that this process has open. */
export function openStoreSource(db: Database.Database): BackupSource {
  return {
    async copyTo(path) {
      await db.backup(path);
    },
    damage: () => findDamage(db),
  };
}

/**
 * Copies the store into one file while it is in use. The copy carries its final name only after it was opened, read
 * through, checked against its checksums and synced; a copy that fails is thrown away and an older file of that name stays.
 *
 * A value that a flipped bit has changed in the store itself is in every copy: that is reported, and the copy is made, since
 * one bad row must not end all backups. Damage that only the copy shows fails it.
 *
 * @throws StoreError STORE_BACKUP_FAILED
 */
export async function backupTo(
  source: BackupSource,
  path: string,
  onFault: (fault: StoreFault) => void,
): Promise<void> {
  const unfinished = `${path}.unfinished`;
  try {
    throwAway(unfinished);
    await source.copyTo(unfinished);
    const damage = await damageOfCopy(unfinished);
    const inStore = damage.changed.length === 0 ? [] : (await source.damage()).changed;
    const inCopy = [...damage.structure, ...damage.changed.filter((change) => !inStore.includes(change))];
    if (inCopy.length > 0) throw new Error(`the copy is damaged: ${inCopy.slice(0, 5).join('; ')}`);
    if (damage.changed.length > 0) {
      onFault({ kind: 'damaged', detail: `Values on disk have changed: ${damage.changed.slice(0, 5).join('; ')}.` });
    }
    syncPath(unfinished);
    renameSync(unfinished, path);
    syncPath(dirname(path));
  } catch (error) {
    throwAway(unfinished);
    const reason = error instanceof Error ? error.message : String(error);
    throw new StoreError('STORE_BACKUP_FAILED', `Backup to ${path}: ${reason}.`, error);
  }
}

/** Makes one file of a copy, without a log beside it and without a trace of the process that wrote it, and reads it through. */
export async function damageOfCopy(path: string): Promise<Damage> {
  const copy = new Database(path);
  try {
    copy.pragma('journal_mode = DELETE');
    forgetRun(copy);
    copy.prepare("INSERT OR REPLACE INTO meta (name, body) VALUES (?, '')").run(backupMark);
    return await findDamage(copy);
  } finally {
    copy.close();
  }
}

/** Best effort, before a copy and after a failure that is reported: where it cannot be removed it could not be made. */
export function throwAway(path: string): void {
  for (const suffix of ['', '-wal', '-shm', '-journal']) {
    try {
      rmSync(path + suffix, { force: true });
    } catch {
      // The copy to this name fails then, and says so.
    }
  }
}

/** Has the disk write down what it still holds in memory of a file or a folder. */
export function syncPath(path: string): void {
  const file = openSync(path, 'r');
  try {
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}
