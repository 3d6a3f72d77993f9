import { copyFileSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { setImmediate as faultsTold } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { describe, expect, it } from 'vitest';
import type { Store } from '#adapters/ports/store.ts';
import { findDamage } from '#adapters/sqlite/find-damage.ts';
import { openInAnyCase } from '#adapters/sqlite/open-in-any-case.ts';
import { newestVersion, oldestVersion } from '#adapters/sqlite/schema.ts';
import { backupStoreFile, restoreStoreFile } from '#adapters/sqlite/store-files.ts';
import { writeFixtureStore } from './fixture-store.ts';
import { heldClock, openScratch, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

const stores = fileURLToPath(new URL('../../../fixtures/stores/', import.meta.url));
const kept = readdirSync(stores).filter((name) => name.endsWith('.db'));
/** Of every version that this program opens. */
const versions = Array.from({ length: newestVersion - oldestVersion + 1 }, (_, index) => oldestVersion + index);
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

/** All of the schema, as SQLite has it. */
function schemaOf(path: string) {
  const db = new Database(path, { readonly: true });
  const version = db.pragma('user_version', { simple: true }) as number;
  const tables = db.prepare('SELECT name, sql FROM sqlite_schema ORDER BY name').all();
  db.close();
  return { version, tables };
}

describe('an update of the hub', () => {
  it('there is no store of an earlier version to try it on', () => {
    expect(kept).toEqual(versions.map((version) => `v${version}.db`));
  });

  it.each(kept)('%s loses a reading, a summary, a dose or a notice', async (name) => {
    const wanted = wantedContent();
    expect(wanted.series).toHaveLength(4);
    expect(wanted.series.reduce((sum, { readings }) => sum + readings.length, 0)).toBe(3 * 1080 + 1);
    const path = copyOf(name);
    const store = openScratch({ path });
    expectSame(contentOf(store), wanted);
    await faultsTold();
    expect(store.faults).toEqual([]);
    store.close();
    const fresh = join(scratchFolder(), 'fresh.db');
    openScratch({ path: fresh }).close();
    expect(schemaOf(path)).toEqual(schemaOf(fresh));
    const db = new Database(path);
    expect(await findDamage(db)).toEqual({ structure: [], changed: [] });
    db.close();
    expectSame(contentOf(openScratch({ path })), wanted);
  });

  it('a correction, a late reading or the deletion of old ones goes another way in a store of before', () => {
    const results = kept.map((name) => {
      const store = openScratch({ path: copyOf(name) });
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
      return contentOf(store);
    });
    for (const result of results) expectSame(result, results[0]!);
  });

  it.each(kept)('a backup of before the update, %s, can no longer be restored or copied', async (name) => {
    const path = join(scratchFolder(), 'store.db');
    await restoreStoreFile(copyOf(name), path, heldClock());
    await backupStoreFile(path, `${path}.copy`);
    for (const each of [path, `${path}.copy`]) expectSame(contentOf(openScratch({ path: each })), wantedContent());
  });

  const unreleased: [string, (db: Database.Database) => void][] = [
    ['a store of version 1', (db) => db.pragma('user_version = 1')],
    ['one whose rows of version 1 were not all moved', (db) => db.exec('INSERT INTO readings VALUES (1, 1, 25, 1)')],
  ];
  it.each(unreleased)('%s is moved aside, written to by guess or refused without a word', async (_what, make) => {
    const path = copyOf('v2.db');
    const db = new Database(path);
    make(db);
    db.close();
    const before = readFileSync(path);
    const sentence = /found .*schema version 1.*A version that was never released wrote it\. Keep the file elsewhere/;
    expect(() => openScratch({ path })).toThrow(sentence);
    await expect(restoreStoreFile(path, join(scratchFolder(), 'store.db'), heldClock())).rejects.toThrow(sentence);
    const store = openInAnyCase({ path, flushMs: 1_000, clock: heldClock() });
    expect(store.whyUnsaved).toMatch(/never released wrote it\. Move the file away, then restart the hub/);
    store.close();
    expect(readFileSync(path).equals(before)).toBe(true);
    expect(readdirSync(dirname(path)).filter((name) => /damaged|replaced/.test(name))).toEqual([]);
  });
});
