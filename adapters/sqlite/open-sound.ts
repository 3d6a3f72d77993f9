import { accessSync, constants, existsSync, mkdirSync, renameSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import type { Clock } from '../ports/edge.ts';
import type { Loss } from '../ports/hub-adapters.ts';
import { syncPath, throwAway } from './backup.ts';
import { settleLeft } from './commit-log.ts';
import { connect } from './connection.ts';
import { imageOf } from './file-image.ts';
import { foreignSchema } from './known-schema.ts';
import { type FoundLog, keepLog, readLogOf, replaceLog } from './log-check.ts';
import { lossesIn } from './losses.ts';
import { backupMark } from './run-mark.ts';
import { salvageInto } from './salvage.ts';
import { migrate, newestVersion } from './schema.ts';
import { guarded, isUnreadable, StoreError } from './store-error.ts';
import type { StoreFault } from './store-options.ts';

/**
 * Opens a file that passes SQLite's own checks, brings it to the current schema and hands it to `use`. A log that shows damage
 * is put together again, a file that does so is moved aside, never deleted, and what can be read of it goes into a new one:
 * the hub must start and watch the room in any case.
 *
 * Is: nothing is moved or written over before what takes its place is on disk; where that cannot be written all stays as it
 * was found, and this throws.
 */
export function openSound<Opened>(
  path: string,
  clock: Clock,
  onFault: (fault: StoreFault) => void,
  use: (db: Database.Database) => Opened,
): Opened {
  const doing = `Opening ${path}`;
  try {
    return guarded(doing, () => {
      mkdirSync(dirname(path), { recursive: true });
      const log = readLogOf(path);
      if (log?.isDamaged !== true) return openChecked(path, false, use);
      const { detail, lost } = mendLog(path, log, clock);
      return openChecked(path, true, (db) => {
        // An entry in the log of commits is not lost.
        settleLeft(db);
        onFault({ kind: 'log_damaged', detail, lost: lost ?? lossesIn(db) });
        return use(db);
      });
    });
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
    // Where it cannot lock a file for itself, SQLite reports a fault of the disk.
    if ((error.code === 'STORE_CANNOT_OPEN' || error.code === 'STORE_IO') && !isWritable(path)) {
      throw new StoreError('STORE_READ_ONLY', `${doing}: its folder or file cannot be written.`, error);
    }
    if (error.code !== 'STORE_DAMAGED' && !isUnreadable(error)) throw error;
    return guarded(doing, () => {
      const { salvaged, lost, aside } = replaceBySalvage(path, clock, [
        () => new Database(path, { fileMustExist: true }),
      ]);
      return openChecked(path, false, (db) => {
        const wasBackup = db.prepare('SELECT 1 FROM meta WHERE name = ?').get(backupMark) !== undefined;
        onFault({ kind: 'damaged', detail: `${error.message} Moved to ${aside}; ${salvaged}.`, lost, wasBackup });
        return use(db);
      });
    });
  }
}

/**
 * Makes the file one that can be opened with all that its log holds. Where pages of the log are missing, what is left may not
 * fit together: then the rows of it and those of the state before the damage go into a new file.
 *
 * @returns `lost` where it is known by now
 */
function mendLog(path: string, log: FoundLog, clock: Clock): { detail: string; lost?: Loss[] } {
  const aside = keepLog(path, log, stampOf(clock.nowMs()));
  const detail = `The log of ${path} was damaged. As found it is in ${aside}`;
  const { content } = log;
  if (content === undefined) return { detail: `${detail}; nothing of it can be read.` };
  const whole = () => imageOf(path, content.frames);
  if (content.unreadFrames > 0 && isTorn(whole)) {
    const before = content.frames.slice(0, content.readBySqlite);
    const lastCommit = before.findLastIndex(({ filePages }) => filePages > 0);
    const earlier = () => imageOf(path, before.slice(0, lastCommit + 1));
    const { salvaged, lost } = replaceBySalvage(path, clock, [whole, earlier]);
    return { detail: `${detail}; ${salvaged}.`, lost };
  }
  replaceLog(path, content);
  return { detail: `${detail}; ${content.unreadFrames} of its pages cannot be read.` };
}

/** False also where that cannot be told in memory; the file is checked when it is opened. */
function isTorn(image: () => Database.Database): boolean {
  let db: Database.Database | undefined;
  try {
    db = image();
    return db.pragma('integrity_check(1)', { simple: true }) !== 'ok';
  } catch (error) {
    return !(error instanceof RangeError);
  } finally {
    db?.close();
  }
}

/** Puts a new file with what can be read in the place of a damaged one. */
function replaceBySalvage(
  path: string,
  clock: Clock,
  sources: readonly (() => Database.Database)[],
): { salvaged: string; lost: Loss[]; aside: string } {
  const fresh = `${path}.salvaged`;
  throwAway(fresh);
  const db = connect(fresh);
  let found: ReturnType<typeof salvageInto>;
  try {
    migrate(db);
    found = salvageInto(db, sources);
    db.close();
  } catch (error) {
    db.close();
    throwAway(fresh);
    throw error;
  }
  const aside = moveAside(path, 'damaged', clock.nowMs());
  renameSync(fresh, path);
  syncPath(dirname(path));
  return { ...found, aside };
}

function isWritable(path: string): boolean {
  try {
    accessSync(dirname(path), constants.W_OK);
    if (existsSync(path)) accessSync(path, constants.W_OK);
    return true;
  } catch {
    return false;
  }
}

function openChecked<Opened>(path: string, isSuspect: boolean, use: (db: Database.Database) => Opened): Opened {
  const db = connect(path);
  try {
    migrate(db);
    const foreign = foreignSchema(db, newestVersion);
    if (foreign.length > 0) throw new StoreError('STORE_DAMAGED', `${path} has ${foreign.slice(0, 3).join(', ')}.`);
    // A proper close leaves little doubt about the file, and a look at all of it takes long on a card. What the hub reads
    // while it starts is looked at in any case.
    const wasRunning = db.prepare("SELECT 1 FROM meta WHERE name = 'running'").get() !== undefined;
    assertSound(db, isSuspect ? 'integrity_check' : 'quick_check', wasRunning || isSuspect);
    return use(db);
  } catch (error) {
    db.close();
    if (error instanceof Database.SqliteError && error.code === 'SQLITE_ERROR') {
      // Our own statements do not fit a schema of the right version: its text has changed.
      throw new StoreError('STORE_DAMAGED', `${path}: ${error.message}.`, error);
    }
    throw error;
  }
}

/** Up to this size the whole file is checked at a start, bytes: a card reads it in some two seconds. */
const mostToCheckBytes = 48 * 1024 * 1024;

/** The table that grows for years; the daily backup reads it through, and a block is checked whenever it is read. */
const growing = 'blocks';

/** @throws StoreError STORE_DAMAGED  with the first thing that SQLite finds wrong with the structure of the file */
function assertSound(db: Database.Database, check: 'quick_check' | 'integrity_check', isOfAll: boolean): void {
  const isPartly = !isOfAll || statSync(db.name).size > mostToCheckBytes;
  const tables = db.prepare<[], { name: string }>("SELECT name FROM sqlite_schema WHERE type = 'table'").all();
  const checks = isPartly
    ? tables.filter(({ name }) => name !== growing).map(({ name }) => `${check}('${name}')`)
    : [`${check}(1)`];
  for (const each of checks) {
    const found = String(db.pragma(each, { simple: true }));
    if (found !== 'ok') throw new StoreError('STORE_DAMAGED', `${db.name}: ${found}.`);
  }
}

/** A time as part of a file name: 20260105T120000Z. */
function stampOf(timeMs: number): string {
  return new Date(timeMs).toISOString().replaceAll(/[-:]|\.\d+/g, '');
}

/** Gives the file and its log or journal another name, stamped with the time, and never one that is taken. */
export function moveAside(path: string, why: 'damaged' | 'replaced', nowMs: number): string {
  const name = `${path}.${why}-${stampOf(nowMs)}`;
  let aside = name;
  for (let again = 2; existsSync(aside); again += 1) aside = `${name}-${again}`;
  for (const suffix of ['', '-wal', '-shm', '-journal']) {
    if (existsSync(path + suffix)) renameSync(path + suffix, aside + suffix);
  }
  return aside;
}
