import { describe, expect, test } from 'vitest';
import { defaultChecks } from '#rules/quality/default-checks.ts';
import { grossRangeFlag } from '#rules/quality/gross-range.ts';
import { rateOfChangeFlag } from '#rules/quality/rate-of-change.ts';
import { type Flag, flagNumber } from '#rules/quality/reading.ts';
import { recentMedian, spikeFlag } from '#rules/quality/spike.ts';
import { checkReading, emptyStreamState, type StreamState } from '#rules/quality/stream-check.ts';
import { flatLineFlag } from '#rules/quality/stuck-value.ts';

const minuteMs = 60_000;

/**
 * The series below are the test cases of ioos_qc, the public reference implementation of QARTOD (tests/test_qartod.py),
 * written down from memory, with the flags that it expects.
 */
describe('QARTOD reference cases', () => {
  test('a value outside the sensor span passes, or one inside the user span does not', () => {
    const limits = { failBelow: 10, failAbove: 50, suspectBelow: 20, suspectAbove: 40 };
    const values = [5, 10, 15, 20, 25, 30, 35, 40, 45, 51];
    expect(values.map((value) => flagNumber[grossRangeFlag(value, limits)])).toEqual([4, 3, 3, 1, 1, 1, 1, 1, 3, 4]);
  });

  test('a jump between neighbours passes the rate of change', () => {
    // Every 15 minutes, 5 units in 15 minutes allowed.
    const values = [2, 10, 2.1, 3, 4, 5, 7, 10, 0, 2, 2.2, 2, 1, 2, 3, 90, 91, 92, 93, 1, 2, 3, 4, 5];
    const expected = [1, 3, 3, 1, 1, 1, 1, 1, 3, 1, 1, 1, 1, 1, 1, 3, 1, 1, 1, 3, 1, 1, 1, 1];
    const found = values.map((value, i) => {
      const change = value - (values[i - 1] ?? value);
      return flagNumber[rateOfChangeFlag(change, 15 * minuteMs, 5 / 15)];
    });
    expect(found).toEqual(expected);
  });

  test('a stuck value passes, or a moving one is held stuck', () => {
    // Every 1000 s, suspect from 3000 s, fail from 4800 s, tolerance 0.01.
    const values = [1, 2, 2.0001, 2, 2.0001, 2, 2.0001, 2, 4, 5, 3, 3.0001, 3.0005, 3.00001];
    const expected = [1, 1, 1, 1, 3, 3, 4, 4, 1, 1, 1, 1, 1, 3];
    const stuck = { value: values[0]!, sinceMs: 0 };
    const found = values.map(
      (value, i) => flagNumber[flatLineFlag(stuck, value, i * 1_000_000, 0.01, 3_000_000, 4_800_000)],
    );
    expect(found).toEqual(expected);
  });

  test('a spike passes, or its good neighbours are blamed', () => {
    // The reference gives [2, 4, 4, 4, 1, 3, 1, 2] with a suspect threshold of 25: it blames the neighbours of 999.99 too,
    // and cannot judge the ends. Judged at arrival, the two spikes are found and the neighbours pass.
    const values = [10, 12, 999.99, 13, 15, 40, 9, 9];
    const before = [11, 11, 11];
    const found = values.map((value, i) => spikeFlag(value, [...before, ...values.slice(0, i)].slice(-5), 25));
    expect(found).toEqual(['pass', 'pass', 'suspect', 'pass', 'pass', 'suspect', 'pass', 'pass']);
  });
});

test('the median of the last five is another value', () => {
  const orders = permutations([1, 2, 3, 4, 5]);
  expect(orders).toHaveLength(120);
  for (const order of orders) expect(recentMedian(order)).toBe(3);
  for (const order of permutations([7, 8, 9])) expect(recentMedian(order)).toBe(8);
  expect(recentMedian([100, 1, 2, 3])).toBe(2);
});

function flagsOf(metric: Parameters<typeof defaultChecks>[0], values: number[], everyMs = minuteMs): Flag[] {
  const state = emptyStreamState();
  return values.map((value, i) => checkReading(defaultChecks(metric), state, value, i * everyMs).flag);
}

describe('streams with the default checks', () => {
  test('an electrical spike of one or two readings is believed', () => {
    const calm = Array.from({ length: 10 }, (_, i) => 25.5 + 0.02 * (i % 3));
    const flags = flagsOf('temperature', [...calm, 31, ...calm, 19, 18.5, ...calm]);
    expect(flags[10]).toBe('suspect');
    expect(flags.slice(21, 23)).toEqual(['suspect', 'suspect']);
    // The good readings after a spike must not be blamed for it.
    expect(flags.filter((flag) => flag === 'suspect')).toHaveLength(3);
  });

  test('a pH probe out of its socket stays doubtful, so that no alarm about the water can come', () => {
    const flags = flagsOf('ph', [...Array(20).fill(8.2), ...Array(10).fill(7)]);
    expect(flags.slice(20)).toEqual(['suspect', 'suspect', 'suspect', ...Array(7).fill('pass')]);
  });

  test('a heater stuck on is called a spike when readings are ten minutes apart', () => {
    const rising = Array.from({ length: 30 }, (_, i) => 25.5 + (i * 3) / 6);
    expect(flagsOf('temperature', rising, 10 * minuteMs)).toEqual(Array(30).fill('pass'));
  });

  test('noise of a probe that speaks ten times a second is called a jump', () => {
    const noisy = Array.from({ length: 600 }, (_, i) => 8.2 + 0.03 * Math.sin(i * 7));
    expect(flagsOf('ph', noisy, 100)).toEqual(Array(600).fill('pass'));
  });

  test('a bubble on the cell is believed at once', () => {
    const flags = flagsOf('conductivity', [53, 53.1, 53, 53, 53.1, 47, 53, 53.1, 41, 53]);
    expect([flags[5], flags[8]]).toEqual(['suspect', 'suspect']);
  });

  test('no number at all passes', () => {
    expect(flagsOf('ph', [Number.NaN, Number.POSITIVE_INFINITY, 14.1, -0.1, 8.2])).toEqual([
      'fail',
      'fail',
      'fail',
      'fail',
      'pass',
    ]);
  });

  test('a stuck pH stays good for a day', () => {
    const flags = flagsOf('ph', Array(24 * 60).fill(8.2));
    expect(flags.indexOf('suspect')).toBe(8 * 60);
    expect(flags.at(-1)).toBe('suspect');
  });

  test('a step of the water across a pause is called a spike', () => {
    const state = emptyStreamState();
    const checks = defaultChecks('temperature');
    for (let i = 0; i < 10; i += 1) checkReading(checks, state, 25, i * minuteMs);
    expect(checkReading(checks, state, 27, 60 * minuteMs).flag).toBe('pass');
  });

  test('a late reading, or a clock set back, spoils the checks of what follows', () => {
    const state = emptyStreamState();
    const checks = defaultChecks('temperature');
    for (let i = 0; i < 100; i += 1) checkReading(checks, state, 25, i * minuteMs);
    expect(checkReading(checks, state, 22, 90 * minuteMs).flag).toBe('pass');
    expect(checkReading(checks, state, 25, 100 * minuteMs).flag).toBe('pass');
    expect(checkReading(checks, state, 25, -1000 * minuteMs).flag).toBe('pass');
    expect(checkReading(checks, state, 31, -999 * minuteMs).flag).toBe('suspect');
  });

  test('a restart changes what a stream is worth', () => {
    const checks = defaultChecks('ph');
    const kept = emptyStreamState();
    let restored = emptyStreamState();
    for (let i = 0; i < 600; i += 1) {
      const value = 8.2 + 0.1 * Math.sin(i / 90) + (i % 37 === 0 ? 1 : 0);
      restored = JSON.parse(JSON.stringify(restored)) as StreamState;
      expect(checkReading(checks, restored, value, i * minuteMs)).toEqual(
        checkReading(checks, kept, value, i * minuteMs),
      );
    }
  });
});

function permutations(values: number[]): number[][] {
  if (values.length <= 1) return [values];
  return values.flatMap((value, i) =>
    permutations([...values.slice(0, i), ...values.slice(i + 1)]).map((rest) => [value, ...rest]),
  );
}
