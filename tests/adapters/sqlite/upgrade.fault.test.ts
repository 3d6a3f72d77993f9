import { copyFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate as faultsTold, setTimeout as pause } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import type { Store } from '#adapters/ports/store.ts';
import { findDamage } from '#adapters/sqlite/find-damage.ts';
import { backupStoreFile, restoreStoreFile } from '#adapters/sqlite/store-files.ts';
import { waitUntil } from '../../servers/server-process.ts';
import { writeFixtureStore } from './fixture-store.ts';
import { heldClock, openScratch, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

const stores = fileURLToPath(new URL('../../../fixtures/stores/', import.meta.url));
const kept = readdirSync(stores).filter((name) => name.endsWith('.db'));
const hourMs = 3_600_000;
/** In the middle of what the kept stores hold. */
const midnight = Date.UTC(2026, 0, 6);

function copyOf(name: string): string {
  const path = join(scratchFolder(), 'store.db');
  copyFileSync(join(stores, name), path);
  return path;
}

/** All that a person can ask of a store. */
function contentOf(store: Store) {
  return {
    journal: store.journal({ history: true }),
    documents: store.document('rules'),
    outbox: [store.outbox('influx', 10), store.outboxDepth('mqtt'), store.outboxDepth('influx')],
    series: store.series().map((series) => ({
      series,
      latest: store.latest(series),
      readings: store.readings(series, 0, Number.MAX_SAFE_INTEGER),
      minutes: store.summaries(series, 'minute', 0, Number.MAX_SAFE_INTEGER),
      hours: store.summaries(series, 'hour', 0, Number.MAX_SAFE_INTEGER),
      days: store.summaries(series, 'day', 0, Number.MAX_SAFE_INTEGER),
    })),
  };
}

type Content = ReturnType<typeof contentOf>;

/** The same but for the last bits of the means, which depend on the order in which values were added up. */
function expectSame(found: Content, wanted: Content): void {
  const rounded = (content: Content) =>
    JSON.parse(
      JSON.stringify(content, (key, value: unknown) => (key === 'mean' ? Number(value).toFixed(9) : value)),
    ) as unknown;
  expect(rounded(found)).toEqual(rounded(wanted));
}

/** What the program of today makes of the same readings and entries. */
function wantedContent(): Content {
  const path = join(scratchFolder(), 'wanted.db');
  writeFixtureStore(path);
  const store = openScratch({ path });
  const content = contentOf(store);
  store.close();
  return content;
}

function rowsLeft(path: string): number {
  const db = new Database(path, { readonly: true });
  const count = (table: string) => db.prepare(`SELECT count(*) FROM ${table}`).pluck().get() as number;
  const left = count('readings') + count('summaries_minute') + count('summaries_hour') + count('reading_checks');
  db.close();
  return left;
}

/** Opens a store until nothing of an earlier schema is left in it. */
async function upgraded(path: string, check: (store: Store) => void = () => {}): Promise<void> {
  for (let round = 0; ; round += 1) {
    const store = openScratch({ path, upgradeStepMs: 1 });
    await pause(100);
    check(store);
    await faultsTold();
    expect(store.faults).toEqual([]);
    store.close();
    if (rowsLeft(path) === 0) return;
    expect(round).toBeLessThan(200);
  }
}

describe('an update of the hub', () => {
  it('there is no store of an earlier version to try it on', () => {
    expect(kept).toContain('v1.db');
  });

  it.each(kept)('%s loses a reading, a summary, a dose or a notice, at once or while it is packed', async (name) => {
    const wanted = wantedContent();
    expect(wanted.series).toHaveLength(4);
    expect(wanted.series.reduce((sum, { readings }) => sum + readings.length, 0)).toBe(3 * 1080 + 1);
    const path = copyOf(name);
    const atOnce = openScratch({ path, upgradeStepMs: hourMs });
    expectSame(contentOf(atOnce), wanted);
    atOnce.close();
    await upgraded(path, (store) => expectSame(contentOf(store), wanted));
    const after = openScratch({ path });
    expectSame(contentOf(after), wanted);
    after.close();
    const db = new Database(path);
    expect(await findDamage(db)).toEqual({ structure: [], changed: [] });
    db.close();
  });

  it.each(kept)('%s cut off after any step of its packing is half lost or counted twice', async (name) => {
    const wanted = wantedContent();
    const path = copyOf(name);
    let steps = 0;
    for (; rowsLeft(path) > 0 || steps === 0; steps += 1) {
      // One step, and then what a power cut leaves: the two files.
      const store = openScratch({ path, upgradeStepMs: 1 });
      await pause(3);
      const cut = join(scratchFolder(), 'store.db');
      for (const suffix of ['', '-wal']) copyFileSync(path + suffix, cut + suffix);
      store.close();
      const again = openScratch({ path: cut, upgradeStepMs: hourMs });
      expectSame(contentOf(again), wanted);
      again.close();
      expect(steps).toBeLessThan(500);
    }
  });

  it('readings of a stop before the update stay without summaries', async () => {
    const wanted = wantedContent();
    const path = copyOf('v1.db');
    const db = new Database(path);
    // As version 1 leaves it: the readings of two hours are there, their summaries are behind or missing.
    db.exec(`INSERT INTO unsummarised VALUES (${midnight}), (${midnight + hourMs});
      DELETE FROM summaries_hour WHERE start_ms = ${midnight};
      UPDATE summaries_minute SET count = 1 WHERE start_ms >= ${midnight} AND start_ms < ${midnight + 2 * hourMs};
      DELETE FROM reading_checks WHERE hour_ms = ${midnight + hourMs}`);
    db.close();
    const store = openScratch({ path, upgradeStepMs: hourMs });
    expectSame(contentOf(store), wanted);
    store.close();
    await upgraded(path, (again) => expectSame(contentOf(again), wanted));
  });

  it('a correction, a late reading or the deletion of old ones misses what is not packed yet', async () => {
    const results: Content[] = [];
    for (const packFirst of [false, true]) {
      const path = copyOf('v1.db');
      if (packFirst) await upgraded(path);
      const store = openScratch({ path, upgradeStepMs: hourMs });
      // One of these times has a reading already.
      const first = store.readings(temperature, midnight, midnight + hourMs, 1)[0]!;
      store.add([passed(temperature, first.timeMs, 99), passed(temperature, midnight + 2, 24)]);
      store.flush();
      const changed = store.rewrite(temperature, midnight, midnight + hourMs, (_timeMs, value) => ({
        value: value + 1,
        flag: 'suspect',
      }));
      expect(changed).toBe(241);
      // 21:30 to 23:15 at four a minute, of three probes; the silent one had one.
      expect(store.dropReadingsBefore(midnight - 45 * 60_000)).toBe(3 * 420 + 1);
      results.push(contentOf(store));
      store.close();
      const db = new Database(path);
      expect(await findDamage(db)).toEqual({ structure: [], changed: [] });
      db.close();
      const again = openScratch({ path, upgradeStepMs: hourMs });
      expectSame(contentOf(again), results.at(-1)!);
    }
    expectSame(results[0]!, results[1]!);
  });

  it('a backup of before the update can no longer be restored', async () => {
    const path = join(scratchFolder(), 'store.db');
    await restoreStoreFile(copyOf('v1.db'), path, heldClock());
    const store = openScratch({ path });
    expectSame(contentOf(store), wantedContent());
    store.close();
    // And a copy of a store that is in the middle of being packed.
    await backupStoreFile(path, `${path}.copy`);
    expectSame(contentOf(openScratch({ path: `${path}.copy` })), wantedContent());
  });

  it('a changed reading of before the update is packed as if it were sound', async () => {
    const path = copyOf('v1.db');
    const db = new Database(path);
    db.exec(`UPDATE readings SET value = 3 WHERE time_ms = (SELECT min(time_ms) FROM readings)`);
    db.exec(`UPDATE summaries_minute SET max = 3 WHERE start_ms = ${midnight} AND series_id = 2`);
    db.close();
    const store = openScratch({ path, upgradeStepMs: 1 });
    await waitUntil('both are noticed', () => store.faults.length >= 2);
    expect(store.faults.map(({ kind }) => kind)).toEqual(['damaged', 'damaged']);
  });
});
