import Database from 'better-sqlite3';
import type { Store } from '../ports/store.ts';
import { backToDisk, traceOf } from './back-to-disk.ts';
import { imageOf, TooLargeForMemory } from './file-image.ts';
import { readLogOf } from './log-check.ts';
import { openSound } from './open-sound.ts';
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

/** Where the disk is to blame it may take the record later; a file of another version stays what it is. */
const mayPass: ReadonlySet<StoreErrorCode> = new Set([
  'STORE_DISK_FULL',
  'STORE_READ_ONLY',
  'STORE_CANNOT_OPEN',
  'STORE_IO',
]);

/**
 * Opens the store, or where nothing can be saved one in memory alone, with what can be read of the file: what is known of the
 * room, such as calibrations and active alarms, still holds. The file itself is left as it was found, until the disk takes the
 * record again: then the memory goes over to it by itself (`back-to-disk.ts`).
 *
 * Is: always a store, unless another process has the file. Is not: able to go over where the file could not be read whole, is of
 * another version, or has become another one. There a restart is needed. It begins with the file as it is then: alarms, readings and
 * acknowledged notices since this start are not in it, so alarms that still hold are raised again. Entries were refused.
 *
 * @throws StoreError STORE_BUSY
 */
export function openInAnyCase(options: StoreOptions): Store {
  try {
    return openStore(options);
  } catch (error) {
    const reason = error instanceof StoreError ? reasons[error.code] : undefined;
    if (reason === undefined) throw error;
    const { message, code } = error as StoreError;
    return toldInTurns(options, (settings) => inMemory(settings, reason, message, mayPass.has(code)));
  }
}

const byRestart =
  ', then restart the hub. Until then it watches from memory and refuses entries; a restart begins with the file and forgets what was watched since.';
const byItself = '. The hub then goes on saving by itself. Until then it watches from memory and refuses entries.';

function inMemory(settings: StoreSettings, reason: string, detail: string, mayGoBack: boolean): Store {
  const { path } = settings;
  const tell = (text: string) => settings.onFault({ kind: 'unsaved', detail: `${text} (${detail})` });
  // Asked first: what changes while the file is read must not be taken for what was read.
  const trace = mayGoBack ? traceIfKnown(path) : undefined;
  let isPartial = false;
  let without = '';
  const isPart = () => {
    isPartial = true;
  };
  for (const open of [fileInMemory, salvagedFrom]) {
    let db: Database.Database | undefined;
    try {
      db = open(path, settings.mostInMemoryBytes, isPart);
      migrate(db);
      if (db.pragma('quick_check(1)', { simple: true }) !== 'ok') throw new RangeError('damaged');
      const isWhole = !isPartial && open === fileInMemory && trace !== undefined && trace === traceIfKnown(path);
      const why = `Nothing is being saved: ${reason}${isWhole ? byItself : byRestart}`;
      tell(why);
      const store = storeOver(db, settings, why);
      if (!isWhole) return store;
      const { clock, onFault } = settings;
      const onDisk = () => openSound(path, clock, onFault, (file) => storeOver(file, settings));
      const changed = 'Nothing is being saved: its file has been replaced meanwhile';
      return backToDisk(store, db, settings, trace, onDisk, () => tell(`${changed}${byRestart}`));
    } catch (error) {
      // What cannot be read, or was written by a later version, is left out.
      db?.close();
      if (!(error instanceof TooLargeForMemory)) continue;
      without = ` The record, ${error.message}: calibrations, active alarms and what was entered are not known until then.`;
      break;
    }
  }
  const db = new Database(':memory:');
  migrate(db);
  const why = `Nothing is being saved: ${reason}${byRestart}${without}`;
  tell(why);
  return storeOver(db, settings, why);
}

/** Undefined where it cannot be told whether there is a file. */
function traceIfKnown(path: string): string | undefined {
  try {
    return traceOf(path);
  } catch {
    return undefined;
  }
}

/** @param isPart  called where it has not all that the file and its log had */
function fileInMemory(path: string, mostBytes: number, isPart: () => void): Database.Database {
  const log = readLogOf(path);
  if (log?.isDamaged === true) isPart();
  return imageOf(path, log?.content?.frames ?? [], isPart, mostBytes);
}

function salvagedFrom(path: string, mostBytes: number): Database.Database {
  const db = new Database(':memory:');
  migrate(db);
  salvageInto(db, [() => fileInMemory(path, mostBytes, () => {})]);
  return db;
}
