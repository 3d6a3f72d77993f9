import {
  copyFileSync,
  existsSync,
  mkdirSync,
  readFileSync,
  rmSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { setImmediate as turn } from 'node:timers/promises';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Store } from '#adapters/ports/store.ts';
import { sideFileOf } from '#adapters/sqlite/side-file.ts';
import { restoreStoreFile } from '#adapters/sqlite/store-files.ts';
import type { Reading, Series } from '#rules/quality/reading.ts';
import { heldClock, openScratch, scratchFolder } from './scratch.ts';
import { passed, ph, temperature } from './series.ts';

/** The files as a killed process leaves them: the system has all that was written, synced or not. */
function killedCopy(path: string): string {
  const copy = join(scratchFolder(), 'store.db');
  for (const suffix of ['', '-wal', '-unflushed']) {
    if (existsSync(path + suffix)) copyFileSync(path + suffix, copy + suffix);
  }
  return copy;
}

function valuesOf(store: Store, series: Series): number[] {
  return store.readings(series, 0, Number.MAX_SAFE_INTEGER).map(({ value }) => value);
}

describe('what a killed process had delivered', () => {
  const item = (key: string) => ({ destination: 'mqtt', key, payload: key });
  const keysOf = (store: Store) => store.outbox('mqtt', 10).map(({ key }) => key);

  it('is told once more at the next start, or takes a later notice with it', async () => {
    const path = join(scratchFolder(), 'store.db');
    const store = openScratch({ path });
    store.commit({ outbox: [item('first'), item('second')] });
    store.acknowledge([store.outbox('mqtt', 1)[0]!.id]);
    expect(keysOf(store)).toEqual(['second']);
    expect(store.outboxDepth('mqtt')).toMatchObject({ waiting: 1 });
    await turn();

    const after = openScratch({ path: killedCopy(path) });
    expect(keysOf(after)).toEqual(['second']);
    after.acknowledge(after.outbox('mqtt', 1).map(({ id }) => id));
    // Of an equal key, as what is said again has: it is another item, and nobody was told of it.
    after.commit({ outbox: [item('second')] });
    await turn();
    // Killed before its first flush: the side file still names what was delivered.
    const again = openScratch({ path: killedCopy(after.path) });
    expect(keysOf(again)).toEqual(['second']);
    expect(again.outboxDepth('mqtt')).toMatchObject({ waiting: 1 });
    again.add([passed(temperature, 1_000, 25.1)]);
    again.flush();
    expect(statSync(sideFileOf(again.path)).size).toBe(0);
  });

  it('all of a long queue stays in the file until the next flush, and each look at what waits reads past it', () => {
    const store = openScratch({ path: join(scratchFolder(), 'store.db') });
    store.commit({ outbox: Array.from({ length: 1_000 }, (_, at) => item(`${at}`)) });
    const taken: string[] = [];
    for (let items = store.outbox('mqtt', 50); items.length > 0; items = store.outbox('mqtt', 50)) {
      taken.push(...items.map(({ key }) => key));
      store.acknowledge(items.map(({ id }) => id));
    }
    expect(taken).toEqual(Array.from({ length: 1_000 }, (_, at) => `${at}`));
    expect(store.outboxDepth('mqtt')).toMatchObject({ waiting: 0 });
    // What the file itself has left.
    const alone = killedCopy(store.path);
    rmSync(sideFileOf(alone), { force: true });
    expect(openScratch({ path: alone }).outboxDepth('mqtt').waiting).toBeLessThan(251);
  });
});

describe('the readings of a killed process', () => {
  it('what came since the last flush is lost, or what was flushed comes twice', async () => {
    const path = join(scratchFolder(), 'store.db');
    const store = openScratch({ path });
    store.add([passed(temperature, 1_000, 25.1), passed(ph, 1_000, 8.1)]);
    store.flush();
    store.add([passed(temperature, 2_000, 25.2)]);
    await turn();
    store.add([passed(temperature, 3_000, 25.3), passed(ph, 3_000, 8.3)]);
    await turn();

    const after = openScratch({ path: killedCopy(path) });
    expect(valuesOf(after, temperature)).toEqual([25.1, 25.2, 25.3]);
    expect(valuesOf(after, ph)).toEqual([8.1, 8.3]);
    expect(after.uncleanStop).toContain('1970-01-01T00:00:03.000Z; 3 readings of it had not been flushed');
    after.flush();
    expect(statSync(sideFileOf(after.path)).size).toBe(0);
    const again = openScratch({ path: killedCopy(after.path) });
    expect(valuesOf(again, temperature)).toEqual([25.1, 25.2, 25.3]);
  });

  it('killed again before its first flush, or between a flush and the emptying of the file', async () => {
    const path = join(scratchFolder(), 'store.db');
    const first = openScratch({ path });
    first.add([passed(temperature, 1_000, 25.1)]);
    await turn();
    const left = killedCopy(path);
    const second = openScratch({ path: left });
    second.add([passed(temperature, 2_000, 25.2)]);
    await turn();
    const third = killedCopy(left);
    expect(valuesOf(openScratch({ path: killedCopy(left) }), temperature)).toEqual([25.1, 25.2]);

    second.flush();
    const unemptied = killedCopy(left);
    copyFileSync(sideFileOf(third), sideFileOf(unemptied));
    expect(valuesOf(openScratch({ path: unemptied }), temperature)).toEqual([25.1, 25.2]);
  });

  it('a failed or doubted reading comes back as a good one, a name beyond ASCII as another', async () => {
    const path = join(scratchFolder(), 'store.db');
    const tank: Series = { system: 'becken "süd"\n', metric: 'ph', probe: 'φ' };
    const readings: Reading[] = [
      { series: tank, timeMs: 1_000, quality: { flag: 'fail', raw: -127, why: 'out of the range of its probe' } },
      { series: tank, timeMs: 2_000, quality: { flag: 'suspect', value: 8.1 + 1 / 3 } },
    ];
    const store = openScratch({ path });
    store.add(readings);
    await turn();
    const expected = store.readings(tank, 0, 10_000);
    expect(expected.map(({ flag }) => flag)).toEqual(['fail', 'suspect']);
    expect(openScratch({ path: killedCopy(path) }).readings(tank, 0, 10_000)).toEqual(expected);
  });

  it('cut at any byte or with a byte changed it brings back a reading that never was, or none of what came after', async () => {
    const path = join(scratchFolder(), 'store.db');
    const store = openScratch({ path });
    for (let n = 1; n <= 8; n += 1) {
      store.add([passed(n % 2 === 0 ? ph : temperature, n * 1_000, n + 0.5)]);
      await turn();
    }
    const whole = readFileSync(sideFileOf(path));
    await fc.assert(
      fc.asyncProperty(
        fc.nat(whole.length - 1),
        fc.oneof(fc.constant('cut' as const), fc.nat(255)),
        async (at, change) => {
          const left = killedCopy(path);
          const file = sideFileOf(left);
          if (change === 'cut') truncateSync(file, at);
          else {
            const changed = Buffer.from(whole);
            changed[at] = change;
            writeFileSync(file, changed);
          }
          const second = openScratch({ path: left });
          const found = [...valuesOf(second, temperature), ...valuesOf(second, ph)];
          const sent = Array.from({ length: 8 }, (_, n) => n + 1.5);
          expect(sent).toEqual(expect.arrayContaining(found));
          second.add([passed(temperature, 9_000, 9.5)]);
          await turn();
          expect(valuesOf(openScratch({ path: killedCopy(left) }), temperature)).toContain(9.5);
        },
      ),
      { numRuns: 60, seed: 20261201, endOnFailure: true },
    );
  });

  it('a proper stop leaves it lying about, or it grows without a flush emptying it', async () => {
    const path = join(scratchFolder(), 'store.db');
    const store = openScratch({ path });
    store.add([passed(temperature, 1_000, 25.1)]);
    await turn();
    expect(statSync(sideFileOf(path)).mode & 0o777).toBe(0o600);
    store.close();
    expect(existsSync(sideFileOf(path))).toBe(false);
  });

  it('readings of the store that was replaced turn up in the restored one', async () => {
    const path = join(scratchFolder(), 'store.db');
    const backup = join(scratchFolder(), 'backup.db');
    const store = openScratch({ path });
    store.add([passed(temperature, 1_000, 25.1)]);
    await store.backup(backup);
    store.add([passed(temperature, 2_000, 25.2)]);
    await turn();
    const left = killedCopy(path);
    const aside = await restoreStoreFile(backup, left, heldClock());
    expect(valuesOf(openScratch({ path: left }), temperature)).toEqual([25.1]);
    expect(valuesOf(openScratch({ path: aside! }), temperature)).toEqual([25.1, 25.2]);
  });

  it('a file that cannot be written stops the store', async () => {
    const path = join(scratchFolder(), 'store.db');
    const store = openScratch({ path });
    store.close();
    // The name is taken by a folder: not even root can write it.
    mkdirSync(sideFileOf(path));
    const again = openScratch({ path });
    again.add([passed(temperature, 1_000, 25.1)]);
    await turn();
    again.flush();
    expect(valuesOf(again, temperature)).toEqual([25.1]);
    again.close();
  });
});
