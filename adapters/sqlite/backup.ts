import { closeSync, fsyncSync, openSync, renameSync, rmSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import { type Damage, findDamage } from './find-damage.ts';
import { StoreError } from './store-error.ts';
import type { StoreFault } from './store-options.ts';

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
  db: Database.Database,
  path: string,
  onFault: (fault: StoreFault) => void,
): Promise<void> {
  const unfinished = `${path}.unfinished`;
  try {
    rmSync(unfinished, { force: true });
    await db.backup(unfinished);
    const copy = new Database(unfinished);
    let damage: Damage;
    try {
      // One file without a log beside it, and no trace of the process that made it.
      copy.pragma('journal_mode = DELETE');
      copy.prepare("DELETE FROM meta WHERE name = 'running'").run();
      damage = await findDamage(copy);
    } finally {
      copy.close();
    }
    const inCopy = [...damage.structure, ...(await notIn(db.name, damage.changed))];
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

/** Those of the changes that the live store does not show. It is read through a connection of its own: reading takes long. */
async function notIn(livePath: string, changed: readonly string[]): Promise<string[]> {
  if (changed.length === 0) return [];
  const live = new Database(livePath, { readonly: true });
  try {
    const known = new Set((await findDamage(live)).changed);
    return changed.filter((change) => !known.has(change));
  } finally {
    live.close();
  }
}

/** Best effort, after a failure that is reported: the next backup begins with removing what is left. */
function throwAway(path: string): void {
  try {
    rmSync(path, { force: true });
  } catch {
    // Where it cannot be removed it could not be made either.
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
