import { copyFileSync, existsSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { systemClock } from '#adapters/clock/system-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import { findDamage } from '#adapters/sqlite/find-damage.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';

/** Copies a store as it lies on disk, its log included: what a power cut at this moment would leave. */
function copied(storePath: string, folder: string): string {
  const copy = join(folder, `copy-${performance.now()}.db`);
  for (const suffix of ['', '-wal'])
    if (existsSync(storePath + suffix)) copyFileSync(storePath + suffix, copy + suffix);
  return copy;
}

/** Reads a store that no hub has open, by a copy of it. */
export function readStore<Found>(storePath: string, folder: string, read: (store: Store) => Found): Found {
  const store = openStore({ path: copied(storePath, folder), flushMs: 3_600_000, clock: systemClock });
  try {
    return read(store);
  } finally {
    store.close();
  }
}

/** What is wrong with a store by SQLite's integrity check and by the checksums of its rows; nothing when it is sound. */
export async function damageOf(storePath: string, folder: string): Promise<string[]> {
  const db = new Database(copied(storePath, folder));
  try {
    const found = db.pragma('integrity_check(5)') as { integrity_check: string }[];
    const { structure, changed } = await findDamage(db);
    return [...found.map((row) => row.integrity_check).filter((text) => text !== 'ok'), ...structure, ...changed];
  } finally {
    db.close();
  }
}

/** How many of `wanted` are not among `found`. */
export function missingOf(wanted: Iterable<string>, found: Iterable<string>): string[] {
  const there = new Set(found);
  return [...wanted].filter((each) => !there.has(each));
}

/** How many stand in `found` beyond the first of each. */
export function doubledIn(found: readonly string[]): number {
  return found.length - new Set(found).size;
}
