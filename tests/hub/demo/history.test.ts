import { beforeAll, describe, expect, it } from 'vitest';
import { type PastReading, playHistory } from '../../../hub/demo/history.ts';
import type { Given } from '../../../hub/demo/keepers-day.ts';
import type { DemoRoom } from '../../../hub/demo/reef-system.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import {
  doseEntrySchema,
  planEntrySchema,
  testEntrySchema,
  waterChangeEntrySchema,
} from '../../../hub/model/entries/entry-schemas.ts';
import { practicalSalinityFromConductivity } from '../../../rules/seawater/practical-salinity.ts';
import { loadedDemoConfig } from './demo-room.ts';

const nowMs = Date.UTC(2026, 10, 25, 14, 20, 37, 123);
const readings: PastReading[] = [];
const entries: Given[] = [];
let room: DemoRoom;

beforeAll(() => {
  room = playHistory(nowMs, 0, seededRandom(7), {
    readings: (batch) => readings.push(...batch),
    enter: (given) => entries.push(given),
  });
});

describe('the invented past', () => {
  it('ends where the demonstration begins and holds nothing of the future', () => {
    expect(room.timeMs).toBe(nowMs);
    const times = readings.map(({ timeMs }) => timeMs);
    expect(Math.max(...times.slice(-20))).toBeLessThan(nowMs);
    expect(times[0]).toBe(nowMs - 14 * 86_400_000);
    expect(times).toEqual(times.toSorted((left, right) => left - right));
    for (const { entry } of entries) expect(Date.parse(entry.time ?? '')).toBeLessThan(nowMs);
  });

  it('has a reading of each probe for each minute of two days and each five minutes before, salinity beside conductivity', () => {
    const counts = new Map<string, number>();
    for (const { probe, metric } of readings) {
      counts.set(`${probe} ${metric}`, (counts.get(`${probe} ${metric}`) ?? 0) + 1);
    }
    expect(counts.size).toBe(8 + 3);
    expect([...new Set(counts.values())]).toEqual([2 * 1440 + 12 * 288]);
    const last = (metric: string) =>
      readings.findLast((reading) => reading.system === 'display' && reading.metric === metric)?.value;
    const expected = practicalSalinityFromConductivity(last('conductivity') ?? 0, last('temperature') ?? 0);
    expect(last('salinity')).toBe(expected);
  });

  it('is calm: no reading leaves the bands, so that the first alarm is that of the script', () => {
    const bands = new Map(loadedDemoConfig().systems.map(({ id, bands: ofSystem }) => [id, ofSystem]));
    for (const { system, metric, value } of readings) {
      const band = bands.get(system)?.[metric];
      if (band === undefined) continue;
      expect(value, `${system} ${metric}`).toBeGreaterThan(band.low);
      expect(value, `${system} ${metric}`).toBeLessThan(band.high);
    }
  });

  it('has two weeks of tests, doses and water changes that the hub would take from a keeper, all marked as invented', () => {
    const schemas = {
      test: testEntrySchema,
      dose: doseEntrySchema,
      water_change: waterChangeEntrySchema,
      plan: planEntrySchema,
    };
    const counts = { test: 0, dose: 0, water_change: 0, plan: 0 };
    const keys = new Set<string>();
    for (const { kind, entry } of entries) {
      counts[kind] += 1;
      const parsed = schemas[kind].safeParse(entry);
      expect(parsed.error?.issues).toBeUndefined();
      expect(entry.note).toContain('invented');
      keys.add(entry.key ?? '');
    }
    expect(keys.size).toBe(entries.length);
    expect(counts.dose).toBe(14 * 6 * 3 * 2);
    expect(counts.test).toBeGreaterThan(14 * 3);
    expect(counts.water_change).toBe(2 * 3);
  });
});
