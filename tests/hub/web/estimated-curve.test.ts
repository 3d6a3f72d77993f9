import { expect, test } from 'vitest';
import { curveFor, isWide } from '../../../hub/web/src/chart/estimated-curve.ts';

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;

/** A tank that uses 1 dKH a day evenly and gets it at noon at once: from 8.5 at its peak to 7.5 before the next dose. */
const saw = Array.from({ length: 30 }, (_, day) => [
  { time: day * dayMs, level: 8, low: 7.9, high: 8.1 },
  { time: (day + 0.5) * dayMs, level: 7.5, low: 7.4, high: 7.6 },
  { time: (day + 0.5) * dayMs, level: 8.5, low: 8.4, high: 8.6 },
]).flat();

test('a month of doses by hand is drawn as a seismograph', () => {
  const month = curveFor(saw, isWide({ from: 0, to: 31 * dayMs }));
  const inner = month.filter(({ time }) => time >= dayMs && time <= 28 * dayMs);
  expect(inner.length).toBeGreaterThan(50);
  // By hand: the mean of a day that falls from 8.5 to 7.5 is 8, at whatever hour it begins.
  for (const { level, low, high } of inner) {
    expect(level).toBeCloseTo(8, 6);
    expect(high - low).toBeCloseTo(0.2, 6);
  }
  expect(new Set(month.map(({ time }) => time)).size).toBe(month.length);
});

test('a day of a tank dosed by hand hides its dose', () => {
  expect(curveFor(saw, isWide({ from: 0, to: dayMs }))).toEqual(saw);
});

test('a level that climbs is drawn late, or bends at the ends', () => {
  const line = Array.from({ length: 40 }, (_, at) => {
    const level = 7 + 0.05 * at;
    return { time: at * 6 * hourMs, level, low: level - 0.1, high: level + 0.1 };
  });
  for (const [at, { level }] of curveFor(line, true).entries()) expect(level).toBeCloseTo(7 + 0.05 * at, 9);
});

test('nothing known becomes something', () => {
  expect(curveFor([], true)).toEqual([]);
  const one = [{ time: 5, level: 8, low: 7.8, high: 8.2 }];
  expect(curveFor(one, true)).toEqual(one);
});
