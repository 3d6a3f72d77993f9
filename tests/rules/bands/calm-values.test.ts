import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { addToMedian, emptyMedian, middleOf } from '#rules/bands/five-minute-median.ts';
import { emptyLastHour, moveWithinHour } from '#rules/bands/kinds/rate.ts';
import { emptyLastDay, swingOfDay } from '#rules/bands/kinds/swing.ts';
import { hourMs, minuteMs, mondayMs } from './script.ts';

/** What is remembered of one stream, and what is made of it at the edges. Limits: common practice, no published source. */

describe('the median of five minutes', () => {
  const secondMs = 1000;

  test('is not the middle one, or disturbs the list that it is taken from', () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -50, max: 50, noNaN: true }), { maxLength: 40 }), (values) => {
        const before = [...values];
        const middle = middleOf(values);
        expect(values).toEqual(before);
        if (values.length === 0) {
          expect(middle).toBeUndefined();
          return;
        }
        // By definition: as many values lie at or below it as at or above it.
        const below = values.filter((value) => value <= middle!).length;
        const above = values.filter((value) => value >= middle!).length;
        expect(below * 2).toBeGreaterThanOrEqual(values.length);
        expect(above * 2).toBeGreaterThanOrEqual(values.length);
        const sorted = before.sort((a, b) => a - b);
        const pair = [sorted[Math.ceil(values.length / 2) - 1]!, sorted[Math.floor(values.length / 2)]!];
        expect(middle).toBe((pair[0]! + pair[1]!) / 2);
      }),
      { numRuns: 300, seed: 20_261_126 },
    );
  });

  test('of a fast probe holds more than a dozen values, or crowds them at its start', () => {
    const median = emptyMedian();
    for (let second = 0; second < 300; second += 1) {
      expect(addToMedian(median, second, mondayMs + second * secondMs)).toBeUndefined();
    }
    // Thinned to one in 34 seconds: a ninth of the five minutes.
    expect(median.values).toEqual([0, 34, 68, 102, 136, 170, 204, 238, 272]);
    expect(addToMedian(median, 300, mondayMs + 300 * secondMs)).toBe(136);
    expect(median).toMatchObject({
      bucketMs: mondayMs + 5 * minuteMs,
      endedMs: mondayMs + 5 * minuteMs,
      values: [300],
    });
  });

  test('does not begin on the five minutes of the clock, or belongs to a time after a pause', () => {
    const median = emptyMedian();
    const at = (minute: number, value: number) => addToMedian(median, value, mondayMs + minute * minuteMs);
    expect(at(3, 1)).toBeUndefined();
    expect(median.bucketMs).toBe(mondayMs);
    at(4, 2);
    at(4.9, 9);
    expect(median.endedMs).toBe(0);
    expect(at(62, 5)).toBe(2);
    // However long the pause, the value belongs to the five minutes in which it was read.
    expect(median.endedMs).toBe(mondayMs + 5 * minuteMs);
    expect(median.bucketMs).toBe(mondayMs + 60 * minuteMs);
  });

  test('begins with values that nobody read', () => {
    const median = emptyMedian();
    expect(median).toEqual({ bucketMs: null, takenMs: 0, values: [], before: [], endedMs: 0 });
    addToMedian(median, 25, mondayMs);
    expect(median).toEqual({ bucketMs: mondayMs, takenMs: mondayMs, values: [25], before: [], endedMs: 0 });
  });

  test('of a slow probe passes on a single spike, or is there before three values outvote it', () => {
    const median = emptyMedian();
    const values = [25, 25.5, 60, 25.25, 25.75, 25];
    const calm = values.map((value, at) => addToMedian(median, value, mondayMs + at * 5 * minuteMs));
    // Each is the middle one of the last three that had ended.
    expect(calm).toEqual([undefined, undefined, undefined, 25.5, 25.5, 25.75]);
  });

  test('of two readings in five minutes lets one spike through, of three waits for more', () => {
    const median = emptyMedian();
    const at = (minute: number, value: number) => addToMedian(median, value, mondayMs + minute * minuteMs);
    at(0, 25);
    at(3, 60);
    expect(at(5, 25)).toBeUndefined();
    at(6, 25.5);
    at(7, 26);
    expect(at(10, 25)).toBe(25.5);
    // Medians before: 42.5 and 25.5; with this one's 25 the middle is 25.5.
    expect(at(15, 25)).toBe(25.5);
  });
});

describe('the move within an hour', () => {
  test('looks back further, loses its sign, or is taken from the nearest value', () => {
    const hour = emptyLastHour();
    const at = (minute: number, value: number) => moveWithinHour(hour, value, mondayMs + minute * minuteMs);
    expect(at(0, 25)).toBe(0);
    expect(at(5, 25.5)).toBe(0.5);
    expect(at(10, 24.75)).toBe(-0.75);
    expect(at(60, 26)).toBe(1.25);
    // The 25 of minute 0 still counts at 60 and no longer at 65, when 25.5 and 24.75 do.
    expect(at(65, 24)).toBe(-2);
    expect(at(70.1, 24)).toBe(-2);
    expect(at(120.1, 23)).toBe(-1);
    expect(at(200, 23)).toBe(0);
    expect(hour.values).toEqual([23]);
    expect(hour.timesMs).toEqual([mondayMs + 200 * minuteMs]);
  });

  test('still counts a value of just an hour ago, or one of a moment more', () => {
    const of = (laterMs: number) => {
      const hour = emptyLastHour();
      moveWithinHour(hour, 25, mondayMs);
      return moveWithinHour(hour, 26, mondayMs + laterMs);
    };
    expect(of(hourMs)).toBe(1);
    expect(of(hourMs + 1)).toBe(0);
  });

  test('grows in memory with a stream that gives more than it should', () => {
    const hour = emptyLastHour();
    for (let at = 0; at < 100; at += 1) moveWithinHour(hour, at, mondayMs + at * 1000);
    expect(hour.values).toHaveLength(13);
    expect(hour.timesMs).toHaveLength(13);
    expect(hour.values[0]).toBe(87);
  });
});

describe('the swing of a day', () => {
  test('forgets the lowest too soon, keeps it too long, or misses either end', () => {
    const day = emptyLastDay();
    expect(day).toMatchObject({ hour: null, past: [], pastLow: null, pastHigh: null });
    const at = (hour: number, value: number) => swingOfDay(day, value, mondayMs + hour * hourMs);
    expect(at(0.5, 35)).toBe(0);
    expect(at(0.6, 34.5)).toBe(0.5);
    expect(at(0.7, 36)).toBe(1.5);
    expect(at(0.8, 35)).toBe(1.5);
    // One entry an hour, and none for the hour that runs.
    expect(day.past).toEqual([]);
    expect(at(1, 35)).toBe(1.5);
    expect(at(5, 35.5)).toBe(1.5);
    expect(at(5.5, 33)).toBe(3);
    expect(at(24.9, 35)).toBe(3);
    // The hour of 36 was the first; from the 25th on it is out, and 35.5 is the highest left.
    expect(at(25, 35)).toBe(2.5);
    expect(at(29.99, 35)).toBe(2.5);
    expect(at(30, 35)).toBe(0);
    expect(day.past.map(({ hour }) => hour - mondayMs / hourMs)).toEqual([24, 25, 29]);
    expect(at(80, 35)).toBe(0);
    expect(day.past).toEqual([]);
    expect(day).toMatchObject({ pastLow: null, pastHigh: null });
  });
});
