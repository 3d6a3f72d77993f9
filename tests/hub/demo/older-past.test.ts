import { expect, test } from 'vitest';
import { drawnCoral } from '#hub/demo/drawn-coral.ts';
import type { PastReading } from '#hub/demo/history.ts';
import type { Given } from '#hub/demo/keepers-day.ts';
import { playOlderPast } from '#hub/demo/older-past.ts';
import { inventedSystems } from '#hub/demo/reef-system.ts';
import { seededRandom } from '#hub/demo/seeded-random.ts';
import { watchedBands } from '#hub/model/config/watched-room.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { loadedDemoConfig } from './demo-room.ts';

const untilMs = Date.UTC(2026, 10, 11, 14, 0, 0);
const dayMs = 86_400_000;

test('the six weeks before leave the bands, have holes, or end with other corals than those of the demonstration', () => {
  const config = loadedDemoConfig();
  const readings: PastReading[] = [];
  const given: Given[] = [];
  const alarms: AlarmEvent[] = [];
  const room = playOlderPast(
    untilMs,
    0,
    seededRandom(5),
    {
      readings: (batch) => readings.push(...batch),
      enter: (each) => given.push(each),
      alarm: (event) => alarms.push(event),
    },
    (id) => watchedBands(config.systems.find((each) => each.id === id)!),
  );
  expect(room.timeMs).toBe(untilMs);
  expect(room.systems.map(({ calcification_dKH_day }) => calcification_dKH_day)).toEqual(
    inventedSystems.map(({ calcification_dKH_day }) => calcification_dKH_day),
  );
  const times = readings.map(({ timeMs }) => timeMs);
  expect(Math.min(...times.slice(0, 10))).toBe(untilMs - 46 * dayMs);
  expect(times).toEqual(times.toSorted((one, other) => one - other));
  const bands = new Map(config.systems.map(({ id, bands: own }) => [id, own]));
  // Out of its band is what an alarm told of, and nothing else; each ended.
  const hourMs = 3_600_000;
  const told = alarms.filter(({ state }) => state === 'raised');
  for (const { system, metric, value, timeMs } of readings) {
    const band = bands.get(system)?.[metric];
    const isTold = told.some((each) => each.system === system && Math.abs(each.timeMs - timeMs) < 14 * hourMs);
    if (band !== undefined && !(metric === 'temperature' && isTold))
      expect(value > band.low && value < band.high, `${system} ${metric} ${value}`).toBe(true);
  }
  expect(told.map(({ system }) => system)).toEqual(['growout', 'quarantine', 'growout']);
  const of = (wanted: string) => alarms.filter(({ state }) => state === wanted).length;
  expect([of('cleared'), of('acknowledged') > 0]).toEqual([3, true]);
  expect(told[1]?.message).toMatch(
    /^Temperature is 26\.\d\d °C, above the band 24\.5 to 26 °C for \d+ min\. Check that the heater/,
  );
  for (const each of given) {
    if (each.kind !== 'test' || each.entry.analyte !== 'alkalinity') continue;
    const band = bands.get(each.entry.system)?.alkalinity;
    if (band !== undefined)
      expect(each.entry.value > band.low - 0.4 && each.entry.value < band.high + 0.4, JSON.stringify(each.entry)).toBe(
        true,
      );
  }
  // The plan follows the corals: of each stock it gives more at each look, until the doses are entered one by one.
  const plans = given.flatMap((each) =>
    each.kind === 'plan' && each.entry.system === 'display' && each.entry.stock === 'soda'
      ? [each.entry.ml_per_day]
      : [],
  );
  expect(plans.slice(0, -1)).toEqual(plans.slice(0, -1).toSorted((one, other) => one - other));
  expect(plans.at(-1)).toBe(0);
  expect(plans.length).toBe(8);
  expect(given.every(({ entry }) => entry.note?.includes('invented'))).toBe(true);
});

test('a drawn photo is none that the hub takes, or is large', () => {
  const picture = drawnCoral(seededRandom(3));
  // PNG, ISO/IEC 15948: the first eight bytes; the end is an IEND chunk whose CRC is AE 42 60 82.
  expect(picture.subarray(0, 8).toString('hex')).toBe('89504e470d0a1a0a');
  expect(picture.subarray(-8).toString('hex')).toBe('49454e44ae426082');
  expect(picture.length).toBeLessThan(30_000);
});
