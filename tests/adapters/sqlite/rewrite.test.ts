import { join } from 'node:path';
import Database from 'better-sqlite3';
import { expect, test } from 'vitest';
import { mirrorBatch } from '#adapters/influx/points.ts';
import { findDamage } from '#adapters/sqlite/find-damage.ts';
import { openScratch, scratchFolder } from './scratch.ts';
import { passed, ph, temperature } from './series.ts';

const noon = Date.UTC(2026, 0, 5, 12);
const minuteMs = 60_000;
const hourMs = 3_600_000;
const scratchPath = () => join(scratchFolder(), 'store.db');

/** Three hours of a reading every ten minutes: 25.0, 25.1, … */
const threeHours = Array.from({ length: 18 }, (_, place) =>
  passed(temperature, noon + place * 10 * minuteMs, 25 + place / 10),
);

test('readings are corrected and the chart still shows the old ones', () => {
  const store = openScratch({ path: scratchPath() });
  store.add(threeHours);
  const changed = store.rewrite(temperature, noon + 70 * minuteMs, noon + 2 * hourMs, (_timeMs, value) => ({
    value: value - 1,
    flag: 'pass',
  }));
  expect(changed).toBe(5);
  const values = store.readings(temperature, noon, noon + 3 * hourMs).map(({ value }) => value);
  expect(values[6]).toBe(25.6);
  expect(values[7]).toBeCloseTo(24.7, 12);
  expect(values[11]).toBeCloseTo(25.1, 12);
  expect(values[12]).toBe(26.2);
  const hour = store.summaries(temperature, 'hour', noon + hourMs, noon + 2 * hourMs)[0];
  // By hand: 25.6, 24.7, 24.8, 24.9, 25.0, 25.1.
  expect(hour).toMatchObject({ count: 6, min: 24.7, max: 25.6 });
  expect(hour?.mean).toBeCloseTo((25.6 + 24.7 + 24.8 + 24.9 + 25.0 + 25.1) / 6, 12);
  expect(store.summaries(temperature, 'minute', noon + 70 * minuteMs, noon + 71 * minuteMs)).toMatchObject([
    { count: 1, min: 24.7, max: 24.7 },
  ]);
});

test('the newest value on the page stays the uncorrected one', () => {
  const store = openScratch({ path: scratchPath() });
  store.add(threeHours);
  expect(store.latest(temperature)?.value).toBe(26.7);
  store.rewrite(temperature, noon, noon + 3 * hourMs, () => ({ value: 20, flag: 'suspect' }));
  expect(store.latest(temperature)).toMatchObject({ value: 20, flag: 'suspect' });
});

test('the correction of one probe moves the readings of another', () => {
  const store = openScratch({ path: scratchPath() });
  store.add(threeHours);
  store.add([passed(ph, noon, 8.1)]);
  store.rewrite(temperature, noon, noon + 3 * hourMs, () => ({ value: 20, flag: 'pass' }));
  expect(store.readings(ph, 0, Number.MAX_SAFE_INTEGER)).toEqual([{ timeMs: noon, value: 8.1, flag: 'pass' }]);
  expect(store.summaries(ph, 'hour', noon, noon + hourMs)).toMatchObject([{ count: 1, min: 8.1, max: 8.1 }]);
});

test('a corrected record is taken for a damaged one at the next start', async () => {
  const path = scratchPath();
  const store = openScratch({ path });
  store.add(threeHours);
  store.rewrite(temperature, noon, noon + 3 * hourMs, (_timeMs, value) => ({ value: value * 1.01, flag: 'suspect' }));
  store.close();
  const again = openScratch({ path });
  expect(again.readings(temperature, noon, noon + 1)).toMatchObject([{ value: 25 * 1.01, flag: 'suspect' }]);
  again.close();
  const db = new Database(path);
  expect(await findDamage(db)).toEqual({ structure: [], changed: [] });
  // The check can fail: a value that changes past it is found.
  const one = db.prepare<[], { body: Buffer }>('SELECT body FROM blocks WHERE kind = 0').get()!;
  one.body[one.body.length >> 1]! ^= 1;
  db.prepare('UPDATE blocks SET body = ? WHERE kind = 0').run(one.body);
  expect((await findDamage(db)).changed).toHaveLength(1);
  db.close();
});

test('a number that is none gets into the record', () => {
  const store = openScratch({ path: scratchPath() });
  store.add(threeHours);
  const spoil = (timeMs: number) => ({ value: timeMs < noon + 90 * minuteMs ? 1 : Number.NaN, flag: 'pass' as const });
  expect(() => store.rewrite(temperature, noon, noon + 3 * hourMs, spoil)).toThrow(RangeError);
  const values = store.readings(temperature, noon, noon + 3 * hourMs).map(({ value }) => value);
  // The first hour is done, the second is whole as it was.
  expect(values.slice(0, 6)).toEqual([1, 1, 1, 1, 1, 1]);
  expect(values.slice(6)).toEqual(threeHours.slice(6).map(({ quality }) => 'value' in quality && quality.value));
});

test('what is stored with each hour of a correction speaks of more than is done', () => {
  const store = openScratch({ path: scratchPath() });
  store.add(threeHours);
  const reached: number[] = [];
  const together = (reachedMs: number) => {
    reached.push(reachedMs);
    return { documents: [{ name: 'done', body: String(reachedMs) }] };
  };
  const change = (timeMs: number) => ({ value: timeMs < noon + 2 * hourMs ? 1 : Number.NaN, flag: 'pass' as const });
  const work = () => store.rewrite(temperature, noon + 5 * minuteMs, noon + 8 * hourMs, change, together);
  expect(work).toThrow(RangeError);
  expect(store.document('done')).toBe(String(noon + 2 * hourMs));
  store.rewrite(temperature, noon + 2 * hourMs, noon + 8 * hourMs, () => ({ value: 2, flag: 'pass' }), together);
  expect(store.document('done')).toBe(String(noon + 8 * hourMs));
  expect(reached).toEqual([1, 2, 3, 8].map((hour) => noon + hour * hourMs));
});

test('the mirror keeps the uncorrected values', () => {
  const store = openScratch({ path: scratchPath(), mirrorBatch });
  store.add(threeHours.slice(0, 2));
  store.flush();
  store.rewrite(temperature, noon + 1, noon + hourMs, () => ({ value: 24, flag: 'pass' }));
  const last = store.outbox('influx', 10).at(-1);
  expect(last?.payload).toBe(`temperature,flag=pass,probe=tank_t,system=display value=24 ${noon + 10 * minuteMs}`);
});

test('readings whose hour lost its raw values are changed, and their summary with them', () => {
  const store = openScratch({ path: scratchPath() });
  store.add(threeHours);
  store.dropReadingsBefore(noon + 30 * minuteMs);
  const changed = store.rewrite(temperature, noon, noon + 3 * hourMs, () => ({ value: 20, flag: 'pass' }));
  expect(changed).toBe(12);
  expect(store.summaries(temperature, 'hour', noon, noon + hourMs)).toMatchObject([{ count: 6, min: 25, max: 25.5 }]);
});
