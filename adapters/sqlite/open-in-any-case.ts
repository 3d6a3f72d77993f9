import Database from 'better-sqlite3';
import type { Store } from '../ports/store.ts';
import { imageOf } from './file-image.ts';
import { readLogOf } from './log-check.ts';
import { openStore, storeOver, toldInTurns } from './open-store.ts';
import { salvageInto } from './salvage.ts';
import { migrate } from './schema.ts';
import { StoreError, type StoreErrorCode } from './store-error.ts';
import type { StoreOptions, StoreSettings } from './store-options.ts';

/** What keeps the hub from saving, and not from watching. A store that another hub has open is not among it. */
const reasons: Partial<Record<StoreErrorCode, string>> = {
  STORE_DISK_FULL: 'its disk is full. Free space',
  STORE_READ_ONLY: 'its disk or folder cannot be written to. Check who owns the folder, and the card',
  STORE_CANNOT_OPEN: 'its folder cannot be used. Check that it exists and belongs to the user that runs the hub',
  STORE_IO: 'its disk reports errors. Check the card and its cable, or replace it',
  STORE_DAMAGED: 'its file is damaged and could not be repaired. Check the card, or restore a backup',
  STORE_OLDER_SCHEMA: 'a version of Brinekeep that was never released wrote it. Move the file away',
  STORE_NEWER_SCHEMA: 'a newer version of Brinekeep wrote it. Install that version again',
};

/**
 * Opens the store, or where nothing can be saved one in memory alone, with what can be read of the file: what is known of the
 * room, such as calibrations and active alarms, still holds. The file itself is left as it was found.
 *
 * Is: always a store, unless another process has the file. Is not: able to go over to the disk by itself; a restart does that.
 *
 * @throws StoreError STORE_BUSY
 */
export function openInAnyCase(options: StoreOptions): Store {
  try {
    return openStore(options);
  } catch (error) {
    const reason = error instanceof StoreError ? reasons[error.code] : undefined;
    if (reason === undefined) throw error;
    const { message } = error as StoreError;
    return toldInTurns(options, (settings) => inMemory(settings, reason, message));
  }
}

function inMemory(settings: StoreSettings, reason: string, detail: string): Store {
  const why = `Nothing is being saved: ${reason}, then restart the hub. Until then it watches from memory and refuses entries.`;
  settings.onFault({ kind: 'unsaved', detail: `${why} (${detail})` });
  for (const open of [fileInMemory, salvagedFrom]) {
    let db: Database.Database | undefined;
    try {
      db = open(settings.path);
      migrate(db);
      if (db.pragma('quick_check(1)', { simple: true }) !== 'ok') throw new RangeError('damaged');
      return storeOver(db, settings, why);
    } catch {
      // What cannot be read, or was written by a later version, is left out.
      db?.close();
    }
  }
  const db = new Database(':memory:');
  migrate(db);
  return storeOver(db, settings, why);
}

function fileInMemory(path: string): Database.Database {
  return imageOf(path, readLogOf(path)?.content?.frames ?? []);
}

function salvagedFrom(path: string): Database.Database {
  const db = new Database(':memory:');
  migrate(db);
  salvageInto(db, [() => fileInMemory(path)]);
  return db;
}
