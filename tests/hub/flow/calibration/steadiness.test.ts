import { describe, expect, test } from 'vitest';
import { steadinessOf } from '#hub/flow/calibration/steadiness.ts';

const nowMs = Date.UTC(2026, 10, 25, 12);

/** Readings every so many seconds, the last one now; the first is the oldest. */
function readings(values: readonly number[], everySeconds = 5, endsSecondsAgo = 0) {
  return values.map((value, index) => ({
    timeMs: nowMs - (endsSecondsAgo + (values.length - 1 - index) * everySeconds) * 1000,
    value,
    flag: 'suspect' as const,
  }));
}

// The limits are common practice, no published source; what is checked is which side of them a run of readings falls on.
describe('has a probe settled in its buffer', () => {
  test('a value on its way is called steady', () => {
    const moving = readings([6.5, 6.6, 6.68, 6.74, 6.78, 6.81, 6.83]);
    expect(steadinessOf('ph', moving, nowMs)).toMatchObject({ state: 'moving', readings: 7, overMs: 30_000 });
  });

  test('the way to the buffer is held against a value that has settled', () => {
    const settled = readings([8.1, 7.4, 6.9, 6.866, 6.865, 6.864, 6.865, 6.866, 6.865, 6.865]);
    const found = steadinessOf('ph', settled, nowMs);
    expect(found.state).toBe('steady');
    expect(found.spread).toBeCloseTo(0.002, 9);
  });

  test('four readings, or five within twenty seconds, are enough to be called steady', () => {
    expect(steadinessOf('ph', readings([7, 7, 7, 7], 20), nowMs).state).toBe('too_few');
    expect(steadinessOf('ph', readings([7, 7, 7, 7, 7], 5), nowMs).state).toBe('too_few');
    expect(steadinessOf('ph', readings([7, 7, 7, 7, 7], 8), nowMs).state).toBe('steady');
  });

  test('a probe that was unplugged is called steady', () => {
    expect(steadinessOf('ph', readings([7, 7, 7, 7, 7, 7, 7], 10, 121), nowMs).state).toBe('silent');
    expect(steadinessOf('ph', [], nowMs).state).toBe('silent');
  });

  test('a conductivity is judged by a number that is right for another range of it', () => {
    const sea = [53.0, 53.05, 53.1, 53.0, 53.05, 53.1, 53.05];
    expect(steadinessOf('conductivity', readings(sea), nowMs).state).toBe('steady');
    const weak = sea.map((value) => value - 52);
    expect(steadinessOf('conductivity', readings(weak), nowMs).state).toBe('moving');
  });
});
