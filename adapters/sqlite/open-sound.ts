import { accessSync, constants, existsSync, mkdirSync, renameSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import type { Clock } from '../ports/edge.ts';
import { connect } from './connection.ts';
import { logDamage } from './log-check.ts';
import { salvageInto } from './salvage.ts';
import { migrate } from './schema.ts';
import { guarded, StoreError } from './store-error.ts';
import type { StoreFault } from './store-options.ts';

/**
 * Opens a file that passes SQLite's own checks, brings it to the current schema and hands it to `use`. A file that shows
 * damage on the way is moved aside, never deleted, and what can be read of it goes into a new one: the hub must start and
 * watch the room in any case.
 */
export function openSound<Opened>(
  path: string,
  clock: Clock,
  onFault: (fault: StoreFault) => void,
  use: (db: Database.Database) => Opened,
): Opened {
  const doing = `Opening ${path}`;
  makeFolder(path);
  const cutOff = logDamage(path, stampOf(clock.nowMs()));
  if (cutOff !== undefined) onFault({ kind: 'log_damaged', detail: cutOff });
  try {
    return guarded(doing, () => openChecked(path, use));
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
    // Where it cannot lock a file for itself, SQLite reports a fault of the disk.
    if ((error.code === 'STORE_CANNOT_OPEN' || error.code === 'STORE_IO') && !isWritable(path)) {
      throw new StoreError('STORE_READ_ONLY', `${doing}: its folder or file cannot be written.`, error);
    }
    if (error.code !== 'STORE_DAMAGED') throw error;
    const aside = moveAside(path, 'damaged', clock.nowMs());
    return guarded(doing, () =>
      openChecked(path, (db) => {
        const salvaged = salvageInto(db, aside);
        onFault({ kind: 'damaged', detail: `${error.message} Moved to ${aside}; ${salvaged}.` });
        return use(db);
      }),
    );
  }
}

function makeFolder(path: string): void {
  try {
    mkdirSync(dirname(path), { recursive: true });
  } catch (error) {
    throw new StoreError('STORE_CANNOT_OPEN', `Opening ${path}: ${String(error)}.`, error);
  }
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

function openChecked<Opened>(path: string, use: (db: Database.Database) => Opened): Opened {
  const db = connect(path);
  try {
    migrate(db);
    // A proper close leaves little doubt about the file, and a look at all of it takes long on a card.
    const wasRunning = db.prepare("SELECT 1 FROM meta WHERE name = 'running'").get() !== undefined;
    if (wasRunning) assertSound(db);
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

/** The tables that grow for years; the daily backup reads them through, and a block is checked whenever it is read. */
const growing = new Set(['blocks', 'readings', 'summaries_minute', 'summaries_hour']);

/** @throws StoreError STORE_DAMAGED  with the first thing that SQLite finds wrong with the structure of the file */
function assertSound(db: Database.Database): void {
  const isLarge = statSync(db.name).size > mostToCheckBytes;
  const tables = db.prepare<[], { name: string }>("SELECT name FROM sqlite_schema WHERE type = 'table'").all();
  const checks = isLarge
    ? tables.filter(({ name }) => !growing.has(name)).map(({ name }) => `quick_check('${name}')`)
    : ['quick_check(1)'];
  for (const check of checks) {
    const found = String(db.pragma(check, { simple: true }));
    if (found !== 'ok') throw new StoreError('STORE_DAMAGED', `${db.name}: ${found}.`);
  }
}

/** A time as part of a file name: 20260105T120000Z. */
function stampOf(timeMs: number): string {
  return new Date(timeMs).toISOString().replaceAll(/[-:]|\.\d+/g, '');
}

/** Gives the file and its log another name, stamped with the time, and never one that is taken. */
export function moveAside(path: string, why: 'damaged' | 'replaced', nowMs: number): string {
  const name = `${path}.${why}-${stampOf(nowMs)}`;
  let aside = name;
  for (let again = 2; existsSync(aside); again += 1) aside = `${name}-${again}`;
  for (const suffix of ['', '-wal', '-shm']) {
    if (existsSync(path + suffix)) renameSync(path + suffix, aside + suffix);
  }
  return aside;
}
