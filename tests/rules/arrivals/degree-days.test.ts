import { describe, expect, it } from 'vitest';
import { developmentFromTwo, expectedTemperature, ripeAfter } from '#rules/arrivals/degree-days.ts';
import { pests } from '#rules/arrivals/pests.ts';
import { dayMs } from '#rules/clock/durations.ts';

const { window } = pests.acropora_flatworm;
if (window.kind !== 'degree_days') throw new Error('the flatworm is planned by degree-days');
const { development } = window;

describe('degree-days of the flatworm by hand', () => {
  // (64·24 − 38·27)/(64 − 38) = 510/26 = 19.615 °C; 38·(27 − 19.615) = 280.615; eggs 11·7.3846 = 81.231.
  it('threshold or degree-days differ from those worked from the two temperatures of the paper', () => {
    expect(development.threshold_C).toBeCloseTo(19.6154, 4);
    expect(window.generation_degreeDays).toBeCloseTo(280.615, 3);
    expect(window.opens_degreeDays).toBeCloseTo(81.231, 3);
    expect(window.closes_degreeDays).toBeCloseTo(199.385, 3);
  });

  // Barton et al. 2019, Frontiers in Marine Science 6:524.
  it.each([
    [27, 38],
    [24, 64],
  ])('at a steady %d °C the shortest generation is not the published %d days', (temperature_C, days) => {
    const ripe = ripeAfter(0, window.generation_degreeDays, development, { measured: [], expected_C: temperature_C });
    expect(ripe!.atMs / dayMs).toBeCloseTo(days, 9);
    expect(ripe).toMatchObject({ measuredShare: 0, isExtrapolated: false });
  });

  it('eggs at 27 °C do not hatch after the published 11 days', () => {
    const ripe = ripeAfter(0, window.opens_degreeDays, development, { measured: [], expected_C: 27 });
    expect(ripe!.atMs / dayMs).toBeCloseTo(11, 9);
  });
});

describe('warmth that changes', () => {
  // 10 degree-days above 20 °C: two days at 24 (8), then half a day at 24 (2): 2.5 days. With the second day at 22: 4 + 2 +
  // one day at 24: 3 days.
  const simple = { threshold_C: 20, measuredFrom_C: 22, measuredTo_C: 26 };
  const day = (index: number, temperature_C: number) => ({ startMs: index * dayMs, temperature_C });

  it('a cold day does not put the date off', () => {
    expect(ripeAfter(0, 10, simple, { measured: [], expected_C: 24 })!.atMs / dayMs).toBeCloseTo(2.5, 9);
    const cold = ripeAfter(0, 10, simple, { measured: [day(0, 24), day(1, 22)], expected_C: 24 })!;
    expect(cold.atMs / dayMs).toBeCloseTo(3, 9);
    expect(cold.measuredShare).toBeCloseTo(2 / 3, 9);
  });

  it('a day below the threshold takes growth back', () => {
    const frozen = ripeAfter(0, 10, simple, { measured: [day(0, 24), day(1, 10)], expected_C: 24 })!;
    expect(frozen.atMs / dayMs).toBeCloseTo(3.5, 9);
    expect(frozen.isExtrapolated).toBe(true);
  });

  it('a dip at noon counts the morning before it', () => {
    const ripe = ripeAfter(0.5 * dayMs, 4, simple, { measured: [day(0, 24), day(1, 22)], expected_C: 24 })!;
    // The afternoon at 24 (2), then a whole day at 22 (2): the end of the second day.
    expect(ripe.atMs / dayMs).toBeCloseTo(2, 9);
  });

  // By hand: a day at 24 (4), half a day at the expected 22 (1), and a day at 25 (5): ten at 2.5 days. Where a day begins before
  // the one before it is over, half a day at 24 (2) and a day at 22 (2): four at 1.5 days.
  it('a day that begins at noon counts from another hour, or the order of such days matters', () => {
    const at = (measured: [number, number][], degreeDays: number) => {
      const days = measured.map(([index, temperature_C]) => day(index, temperature_C));
      return [days, days.toReversed()].map(
        (each) => ripeAfter(0, degreeDays, simple, { measured: each, expected_C: 22 })!.atMs / dayMs,
      );
    };
    expect(
      at(
        [
          [0, 24],
          [1.5, 25],
        ],
        10,
      ),
    ).toEqual([expect.closeTo(2.5, 9), expect.closeTo(2.5, 9)]);
    expect(
      at(
        [
          [0, 24],
          [0.5, 22],
        ],
        4,
      ),
    ).toEqual([expect.closeTo(1.5, 9), expect.closeTo(1.5, 9)]);
  });

  it('a gap in the readings stops the clock, or the order of days matters', () => {
    const warmth = { measured: [day(3, 25), day(0, 24)], expected_C: 22 };
    // 4 + 2 + 2 (gap of two days at 22) and 2 of the 5 of the last day: 3.4 days.
    expect(ripeAfter(0, 10, simple, warmth)!.atMs / dayMs).toBeCloseTo(3.4, 9);
    expect(ripeAfter(0, 10, simple, { ...warmth, measured: [...warmth.measured].reverse() })!.atMs / dayMs).toBeCloseTo(
      3.4,
      9,
    );
  });

  it('the mean of the last week is not what is expected', () => {
    const measured = Array.from({ length: 10 }, (_, index) => day(index - 10, index < 3 ? 30 : 25));
    expect(ripeAfter(0, 10, simple, { measured })!.atMs / dayMs).toBeCloseTo(2, 9);
  });

  it('a tank too cold for the pest gets a date', () => {
    expect(ripeAfter(0, 10, simple, { measured: [], expected_C: 20 })).toBeUndefined();
  });

  it('numbers that are no stage are taken', () => {
    const warm = { days: 40, temperature_C: 27 };
    expect(() => developmentFromTwo({ days: 30, temperature_C: 24 }, warm)).toThrow(/less than the 30/);
    expect(() => ripeAfter(0, 10, simple, { measured: [] })).toThrow(/expected temperature/);
    expect(() => ripeAfter(0, 10, simple, { measured: [day(0, 99)], expected_C: 25 })).toThrow(/temperature, °C is 99/);
  });
});

describe('a stage that began on a day of the calendar', () => {
  const simple = { threshold_C: 20, measuredFrom_C: 22, measuredTo_C: 26 };
  const from = Date.UTC(2026, 10, 2, 9);

  // By hand: 10 degree-days at 24 °C are 2.5 days, of which the first was measured.
  it('ends elsewhere than one that began at zero', () => {
    const measured = [{ startMs: from, temperature_C: 24 }];
    const ripe = ripeAfter(from, 10, simple, { measured, expected_C: 24 })!;
    expect((ripe.atMs - from) / dayMs).toBeCloseTo(2.5, 6);
    expect(ripe.measuredShare).toBeCloseTo(1 / 2.5, 6);
  });

  it('of no degree-days is not through at once', () => {
    expect(ripeAfter(from, 0, simple, { measured: [], expected_C: 24 })).toEqual({
      ...{ atMs: from, measuredShare: 1, isExtrapolated: false },
    });
  });

  // Three days at 30 °C and then seven at 25, written down in no order: 25 is expected.
  it('is expected from other days than the last seven when they come in no order', () => {
    const order = [4, 0, 9, 2, 7, 1, 5, 8, 3, 6];
    const measured = order.map((index) => ({ startMs: from + index * dayMs, temperature_C: index < 3 ? 30 : 25 }));
    expect(expectedTemperature({ measured })).toBe(25);
  });
});
