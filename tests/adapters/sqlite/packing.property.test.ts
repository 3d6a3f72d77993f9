import { copyFileSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate as faultsTold, setTimeout as pause } from 'node:timers/promises';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { KeptReading } from '#adapters/ports/store.ts';
import { findDamage } from '#adapters/sqlite/find-damage.ts';
import { flags, type Reading } from '#rules/quality/reading.ts';
import { patience } from '../../servers/server-process.ts';
import { heldClock, openScratch, scratchFolder } from './scratch.ts';
import { passed, ph, temperature } from './series.ts';

const noon = Date.UTC(2026, 0, 5, 12);
const hourMs = 3_600_000;

/** Few distinct times over a day and a half, so that many come late, into packed hours, or a second time. */
const reading: fc.Arbitrary<Reading> = fc
  .record({
    series: fc.constantFrom(temperature, ph),
    timeMs: fc.integer({ min: 0, max: 300 }).map((step) => noon + step * 432_017),
    value: fc.oneof(fc.double({ min: -100, max: 100, noNaN: true }), fc.constantFrom(-0, 0, 8.1, 25.01)),
    isFailed: fc.boolean(),
  })
  .map(({ series, timeMs, value, isFailed }) => ({
    series,
    timeMs,
    quality: isFailed ? { flag: 'fail', raw: value, why: 'gross range' } : { flag: 'pass', value },
  }));

/** What is on disk now, in a folder of its own: the store as a power cut would leave it. */
function cutOff(path: string): string {
  const cut = join(scratchFolder(), 'store.db');
  for (const suffix of ['', '-wal']) copyFileSync(path + suffix, cut + suffix);
  return cut;
}

/** Whether a stop now would come amid the steps of a packing. */
function isAmidSteps(path: string): boolean {
  const db = new Database(cutOff(path));
  const found = db.prepare("SELECT 1 FROM meta WHERE name = 'packing'").get();
  db.close();
  return found !== undefined;
}

test.each([
  { way: 'in one go', isInSteps: false, packing: { packPauseMs: 0 } },
  // One series each time, and what follows falls between two of them.
  { way: 'in steps', isInSteps: true, packing: { packPauseMs: 1, packStepMs: 0 } },
])(
  'a late reading into hours packed $way is lost, counted twice, or takes the place of the first',
  {
    timeout: 60_000 * patience(),
  },
  async ({ isInSteps, packing }) => {
    let cutsAmidSteps = 0;
    const batches = fc.array(
      fc.record({ batch: fc.array(reading, { maxLength: 60 }), turns: fc.integer({ min: 0, max: 3 }) }),
      { minLength: 1, maxLength: 6 },
    );
    await fc.assert(
      fc.asyncProperty(batches, async (batches) => {
        const clock = heldClock(noon);
        const open = (path: string) => openScratch({ path, clock, ...packing });
        let store = open(join(scratchFolder(), 'store.db'));
        const known = new Map<string, KeptReading>();
        const expectAll = () => {
          for (const series of [temperature, ph]) {
            const wanted = [...known]
              .filter(([key]) => key.startsWith(`${series.metric} `))
              .map(([, kept]) => kept)
              .sort((a, b) => a.timeMs - b.timeMs);
            expect(store.readings(series, 0, Number.MAX_SAFE_INTEGER)).toEqual(wanted);
            expect(store.latest(series)).toEqual(wanted.at(-1));
            const good = wanted.filter(({ flag }) => flag === 'pass');
            for (const resolution of ['minute', 'hour', 'day'] as const) {
              const summaries = store.summaries(series, resolution, 0, Number.MAX_SAFE_INTEGER);
              expect(summaries.reduce((sum, { count }) => sum + count, 0)).toBe(good.length);
              expect(Math.max(...summaries.map(({ max }) => max))).toBe(Math.max(...good.map(({ value }) => value)));
              for (const { worst } of summaries) expect(flags).toContain(worst);
            }
          }
        };
        for (const [place, { batch, turns }] of batches.entries()) {
          store.add(batch);
          for (const { series, timeMs, quality } of batch) {
            const key = `${series.metric} ${timeMs}`;
            if (known.has(key) || quality.flag === 'missing') continue;
            known.set(key, { timeMs, value: 'raw' in quality ? quality.raw : quality.value, flag: quality.flag });
          }
          // Packing is due with each flush; each second time as after a power cut.
          clock.forward(2 * hourMs);
          store.flush();
          for (let turn = 0; turn < turns; turn += 1) {
            expectAll();
            await pause(2);
          }
          if (place % 2 === 1) {
            const cut = cutOff(store.path);
            if (isAmidSteps(store.path)) cutsAmidSteps += 1;
            store.close();
            store = open(cut);
          }
          expectAll();
        }
        await faultsTold();
        expect(store.faults).toEqual([]);
        store.close();
        const db = new Database(store.path);
        expect(await findDamage(db)).toEqual({ structure: [], changed: [] });
        // What an older release would read twice is not there.
        expect(db.prepare("SELECT 1 FROM meta WHERE name = 'packing'").get()).toBeUndefined();
        db.close();
      }),
      { numRuns: 15, seed: 20260109 },
    );
    expect(cutsAmidSteps > 0).toBe(isInSteps);
  },
);

test('a flipped bit in one block takes other readings away, or nobody says so', async () => {
  const path = join(scratchFolder(), 'store.db');
  const clock = heldClock(noon);
  const store = openScratch({ path, clock });
  const day = Array.from({ length: 24 * 60 }, (_, minute) =>
    passed(temperature, noon + minute * 60_000, 25 + (minute % 7) / 10),
  );
  store.add(day);
  store.add([passed(ph, noon, 8.1)]);
  store.flush();
  store.close();
  const db = new Database(path);
  const blocks = db
    .prepare<[], { start_ms: number; body: Buffer }>(
      'SELECT start_ms, body FROM blocks WHERE kind = 0 AND series_id = 1',
    )
    .all();
  expect(blocks).toHaveLength(5);
  const { start_ms, body } = blocks[2]!;
  body[body.length >> 1]! ^= 4;
  db.prepare('UPDATE blocks SET body = ? WHERE kind = 0 AND series_id = 1 AND start_ms = ?').run(body, start_ms);
  db.close();

  const again = openScratch({ path, clock });
  const isLost = (timeMs: number) => timeMs >= start_ms && timeMs < start_ms + 4 * hourMs;
  const times = (readings: readonly { timeMs: number }[]) => readings.map(({ timeMs }) => timeMs);
  const left = times(day).filter((timeMs) => !isLost(timeMs));
  expect(times(again.readings(temperature, 0, Number.MAX_SAFE_INTEGER))).toEqual(left);
  expect(again.readings(ph, 0, Number.MAX_SAFE_INTEGER)).toHaveLength(1);
  // The chart is of other blocks.
  expect(again.summaries(temperature, 'hour', 0, Number.MAX_SAFE_INTEGER)).toHaveLength(24);
  await faultsTold();
  expect(again.faults.map(({ kind }) => kind)).toEqual(['damaged']);
  expect(again.faults[0]?.detail).toContain(new Date(start_ms).toISOString());
  // A late reading of that span does not write over what is left of it.
  again.add([passed(temperature, start_ms + 30_000, 24)]);
  clock.forward(2 * hourMs);
  again.flush();
  expect(again.readings(temperature, start_ms, start_ms + 60_000)).toHaveLength(1);
  await again.backup(`${path}.copy`);
  await faultsTold();
  expect(again.faults.at(-1)?.detail).toContain('have changed');
  again.close();
  const after = new Database(path);
  const aside = after.prepare<[], { body: Buffer }>('SELECT body FROM blocks WHERE kind = 100').all();
  expect(aside.map(({ body: kept }) => kept.equals(body))).toEqual([true]);
  after.close();
});
