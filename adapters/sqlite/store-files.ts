import { copyFileSync, existsSync, renameSync, rmSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import type { Clock } from '../ports/edge.ts';
import { backupTo, syncPath } from './backup.ts';
import { storeInUse } from './copy-in-use.ts';
import { findDamage } from './find-damage.ts';
import { foreignSchema } from './known-schema.ts';
import { moveAside } from './open-sound.ts';
import { assertNoneOfVersion1, newestVersion, oldestVersion } from './schema.ts';
import { sideFileOf } from './side-file.ts';
import { asStoreError, guarded, StoreError } from './store-error.ts';

/**
 * Copies the store of a hub that may be running, from another process, as `Store.backup` does from within.
 *
 * @returns values that a flipped bit has changed in the store itself, one sentence each; the copy has them as well
 * @throws StoreError  STORE_BACKUP_FAILED; or as for opening
 */
export async function backupStoreFile(storePath: string, path: string): Promise<string[]> {
  assertIsStore(storePath);
  const changed: string[] = [];
  await backupTo(storeInUse(storePath), path, (fault) => changed.push(fault.detail));
  return changed;
}

/**
 * Reads a store or a backup through and compares it with its checksums.
 *
 * @returns one sentence for each damage; none for a sound file
 * @throws StoreError  when there is no such file, or it is no store at all
 */
async function damageOfStoreFile(path: string): Promise<string[]> {
  const db = openToRead(path);
  try {
    const version = Number(db.pragma('user_version', { simple: true }));
    if (version < oldestVersion) assertNoneOfVersion1(db, version);
    const { structure, changed } = await findDamage(db);
    const foreign = version > newestVersion ? [] : foreignSchema(db, version);
    if (foreign.length === 0) assertNoneOfVersion1(db, version);
    return [...foreign.map((each) => `it has ${each}`), ...structure, ...changed];
  } finally {
    db.close();
  }
}

/**
 * Puts a backup in the place of a store. The hub must not be running. The backup is read through first; the store that was
 * there keeps its content under another name.
 *
 * @returns the name under which the former store stands, when there was one
 * @throws StoreError  STORE_NOT_A_BACKUP for a file of another kind, STORE_DAMAGED for a backup that is not sound: nothing is
 *   touched. STORE_OLDER_SCHEMA for one that this program cannot read
 */
export async function restoreStoreFile(
  backupPath: string,
  storePath: string,
  clock: Clock,
): Promise<string | undefined> {
  assertIsBackup(backupPath);
  const damage = await damageOfStoreFile(backupPath);
  if (damage.length > 0) {
    throw new StoreError('STORE_DAMAGED', `The backup ${backupPath} is not sound: ${damage.slice(0, 3).join('; ')}.`);
  }
  return guarded('Restoring', () => {
    const unfinished = `${storePath}.unfinished`;
    copyFileSync(backupPath, unfinished);
    syncPath(unfinished);
    return takePlaceOf(storePath, unfinished, clock);
  });
}

/**
 * Puts a whole file, which is on disk, in the place of the store.
 *
 * @returns the name under which the former store stands, when there was one
 */
export function takePlaceOf(storePath: string, path: string, clock: Clock): string | undefined {
  const aside = existsSync(storePath) ? moveAside(storePath, 'replaced', clock.nowMs()) : undefined;
  // What the former store had not flushed is not of this one.
  const unflushed = sideFileOf(storePath);
  if (existsSync(unflushed)) renameSync(unflushed, sideFileOf(aside ?? `${storePath}.replaced`));
  // A log or journal without its file would be taken for that of this one.
  for (const suffix of ['-wal', '-shm', '-journal']) rmSync(storePath + suffix, { force: true });
  renameSync(path, storePath);
  syncPath(dirname(storePath));
  return aside;
}

/** @throws StoreError  when there is no such file, or it is of another kind: a photo, a table, another program's database */
function assertIsBackup(path: string): void {
  if (!existsSync(path)) throw new StoreError('STORE_CANNOT_OPEN', `Reading ${path}: there is no such file.`);
  const isOurs = statSync(path).isFile() && hasTablesOfStore(path);
  if (!isOurs) throw new StoreError('STORE_NOT_A_BACKUP', `${path} is not a backup of Brinekeep.`);
}

function hasTablesOfStore(path: string): boolean {
  const db = new Database(path, { readonly: true, timeout: 500 });
  try {
    return db.prepare("SELECT 1 FROM sqlite_schema WHERE name = 'journal_by_root'").get() !== undefined;
  } catch (error) {
    // Of a file that is damaged inside, the look through it tells more.
    return !(error instanceof Database.SqliteError && error.code === 'SQLITE_NOTADB');
  } finally {
    db.close();
  }
}

function openToRead(path: string): Database.Database {
  const doing = `Reading ${path}`;
  if (!existsSync(path)) throw new StoreError('STORE_CANNOT_OPEN', `${doing}: there is no such file.`);
  const db = new Database(path, { readonly: true, timeout: 500 });
  try {
    const version = Number(db.pragma('user_version', { simple: true }));
    if (version === 0) throw new StoreError('STORE_DAMAGED', `${doing}: it is no store of Brinekeep.`);
    return db;
  } catch (error) {
    db.close();
    throw asStoreError(error, doing);
  }
}

/** @throws StoreError  when there is no such file, or it is no store; one that a hub has open is not looked into */
function assertIsStore(path: string): void {
  try {
    openToRead(path).close();
  } catch (error) {
    if (!(error instanceof StoreError && error.code === 'STORE_BUSY')) throw error;
  }
}
