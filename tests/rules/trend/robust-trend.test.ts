import { describe, expect, it } from 'vitest';
import { robustTrend } from '#rules/trend/robust-trend.ts';
import { seededRandom } from './seeded-random.ts';

const hourMs = 3_600_000;
const start = Date.UTC(2026, 0, 1);

describe('slope of a probe', () => {
  it('five readings give the slope that pencil and paper give', () => {
    // By hand, the ten slopes in order: -0.15 -0.13 -0.08 -0.07 -0.0575 -0.055 -0.045 -0.0333 0.01 0.04; their median -0.05625.
    const trend = robustTrend(
      [1.26, 1.27, 1.12, 1.16, 1.03].map((value, i) => ({ timeMs: start + i * hourMs, value })),
    );
    expect(trend.slopePerHour).toBeCloseTo(-0.05625, 9);
    // The five less that slope, seen from the last: 1.035 1.10125 1.0075 1.10375 1.03; their median 1.035.
    expect(trend.valueAtEnd).toBeCloseTo(1.035, 9);
  });

  it('its interval is other than Sen’s ranks say', () => {
    // Ten slopes of five readings: C = 1.96 √(5 × 4 × 15 / 18) = 8.002, ranks (10 − 8) / 2 = 1 and (10 + 8) / 2 + 1 = 10.
    const five = robustTrend([1.26, 1.27, 1.12, 1.16, 1.03].map((value, i) => ({ timeMs: start + i * hourMs, value })));
    expect([five.low95PerHour, five.high95PerHour]).toEqual([expect.closeTo(-0.15, 9), expect.closeTo(0.04, 9)]);
    // Twelve readings that go up and down by turns, which neighbours never do alike: 66 slopes, C = 1.96 √(12 × 11 × 29 / 18)
    // = 28.583, ranks 18.709 and 48.291, between the two slopes beside each.
    const values = [0.3, -0.2, 0.5, -0.6, 0.1, -0.4, 0.7, -0.1, 0.2, -0.9, 0.4, -0.3];
    const slopes = values.flatMap((one, i) => values.slice(i + 1).map((other, k) => (other - one) / (k + 1)));
    slopes.sort((one, other) => one - other);
    const twelve = robustTrend(values.map((value, i) => ({ timeMs: start + i * hourMs, value })));
    const between = (rank: number, share: number) => slopes[rank - 1]! + share * (slopes[rank]! - slopes[rank - 1]!);
    expect(twelve.low95PerHour).toBeCloseTo(between(18, 0.709), 4);
    expect(twelve.high95PerHour).toBeCloseTo(between(48, 0.291), 4);
  });

  it('a probe whose errors last for hours is taken to be as sure as one whose errors do not', () => {
    const random = seededRandom(9);
    let held = 0;
    for (let run = 0; run < 150; run++) {
      let error = 0;
      const readings = Array.from({ length: 40 }, (_, i) => {
        // Each error keeps 0.8 of the one before (an autoregressive series).
        error = 0.8 * error + 0.6 * random.gaussian();
        return { timeMs: start + i * hourMs, value: 25 + 0.02 * i + error };
      });
      const { low95PerHour, high95PerHour } = robustTrend(readings);
      if (low95PerHour < 0.02 && high95PerHour > 0.02) held++;
    }
    expect(held / 150).toBeGreaterThan(0.85);
    expect(held / 150).toBeLessThan(0.99);
  });

  it('the likeness of neighbours widens the interval by other than (1 + r) over (1 − r)', () => {
    // An effective number of readings n (1 − r) / (1 + r) of a series with lag-one correlation r (Bayley & Hammersley 1946, from
    // memory); the values far from 0, as those of a temperature are.
    const errors = [3, 4, 2, 3, 1, -1, -2, -4, -3, -2, 0, 1, 3, 2, 4, 1, -1, -3, -2, -1].map((each) => each / 10);
    const trend = robustTrend(errors.map((error, i) => ({ timeMs: start + i * hourMs, value: 25 + 0.02 * i + error })));
    const rests = errors.map((error, i) => 25 + 0.02 * i + error - trend.slopePerHour * (i - 19) - trend.valueAtEnd);
    const r =
      rests.slice(1).reduce((sum, rest, i) => sum + rest * rests[i]!, 0) /
      rests.reduce((sum, rest) => sum + rest ** 2, 0);
    expect(r).toBeGreaterThan(0.5);
    const slopes = rests.flatMap((one, i) =>
      rests.slice(i + 1).map((other, k) => trend.slopePerHour + (other - one) / (k + 1)),
    );
    slopes.sort((one, other) => one - other);
    const half = (1.96 / 2) * Math.sqrt((((20 * 19 * 45) / 18) * (1 + r)) / (1 - r));
    // Rank 95 ± half, from 1; the upper one further by one.
    const rank = 95 - half;
    const at = (place: number) =>
      slopes[Math.floor(place) - 1]! + (place % 1) * (slopes[Math.floor(place)]! - slopes[Math.floor(place) - 1]!);
    expect(trend.low95PerHour).toBeCloseTo(at(rank), 9);
    expect(trend.high95PerHour).toBeCloseTo(at(191 - rank), 9);
  });

  it('a curve, whose errors all last, has an interval of no end', () => {
    // Slopes between points of t² are the sums of their times, 7140 of them. The widening goes to (1 + 0.95) / (1 − 0.95) = 39
    // and no further: C = 1.96 √(39 × 120 × 119 × 245 / 18) = 5396.3, ranks 871.9 and 6269.1.
    const curve = Array.from({ length: 120 }, (_, i) => ({ timeMs: start + i * hourMs, value: i * i }));
    const sums = curve.flatMap((_, i) => Array.from({ length: 119 - i }, (__, k) => i + (i + k + 1)));
    sums.sort((one, other) => one - other);
    const trend = robustTrend(curve);
    expect([trend.low95PerHour, trend.slopePerHour, trend.high95PerHour]).toEqual([sums[871], 119, sums[6268]]);
  });

  it('a quarter of wild readings cannot turn a fall into a rise', () => {
    const readings = Array.from({ length: 40 }, (_, i) => ({
      timeMs: start + i * hourMs,
      value: i % 4 === 3 ? 40 : 26 - 0.02 * i,
    }));
    expect(robustTrend(readings).slopePerHour).toBeLessThan(0);
  });

  it('its interval holds the true slope about as often as it says', () => {
    const random = seededRandom(4);
    let held = 0;
    for (let run = 0; run < 200; run++) {
      const readings = Array.from({ length: 30 }, (_, i) => ({
        timeMs: start + i * hourMs,
        value: 8.1 - 0.01 * i + 0.03 * random.gaussian(),
      }));
      const { low95PerHour, high95PerHour } = robustTrend(readings);
      if (low95PerHour < -0.01 && high95PerHour > -0.01) held++;
    }
    expect(held / 200).toBeGreaterThan(0.91);
  });

  it('a clock or a probe that gives no number is told as a trend', () => {
    const readings = [0, 1, 2, 3].map((i) => ({ timeMs: start + i * hourMs, value: 8 }));
    expect(() => robustTrend(readings.with(1, { timeMs: start, value: Number.NaN }))).toThrow(/reading is NaN.*finite/);
    const endless = { timeMs: Number.POSITIVE_INFINITY, value: 8 };
    expect(() => robustTrend(readings.with(3, endless))).toThrow(/reading is Infinity.*finite/);
  });

  it('a flat stream has no slope, and too few readings none at all', () => {
    const flat = [0, 1, 2, 3].map((i) => ({ timeMs: start + i * hourMs, value: 8 }));
    expect(robustTrend(flat)).toMatchObject({ slopePerHour: 0, low95PerHour: 0, high95PerHour: 0 });
    expect(() => robustTrend(flat.slice(0, 2))).toThrow('readings for a trend is 2, allowed: 3 or more');
    expect(() => robustTrend(flat.map(({ value }) => ({ timeMs: start, value })))).toThrow('at 2 or more times');
    const many = Array.from({ length: 200 }, () => ({ timeMs: start, value: 8 }));
    expect(() => robustTrend(many)).toThrow('at 2 or more times');
    // Two of three at one time: the two slopes to the third count.
    const pair = [8, 8.2, 8.3].map((value, i) => ({ timeMs: start + Math.max(0, i - 1) * hourMs, value }));
    expect(robustTrend(pair).slopePerHour).toBeCloseTo(0.2, 9);
  });

  it('a day of readings each second costs no more than its medians', () => {
    const readings = Array.from({ length: 86_400 }, (_, i) => ({ timeMs: start + i * 1000, value: 8 + i / 86_400 }));
    const trend = robustTrend(readings);
    expect(trend.pointsUsed).toBe(120);
    expect(trend.slopePerHour).toBeCloseTo(1 / 24, 6);
    expect(trend.valueAtEnd).toBeCloseTo(9, 4);
  });

  it('a long stream is cut where its times are not even, or one wild reading of three bends it', () => {
    // 121 places of time in 120 parts, three readings each, one of them wild: always the first, the second or the last.
    for (const wild of [0, 1, 2]) {
      const readings = Array.from({ length: 121 }, (_, i) => i).flatMap((i) =>
        [0, 1, 2].map((n) => ({ timeMs: start + i * hourMs, value: n === wild ? 900 + i : 8 - 0.01 * i })),
      );
      const trend = robustTrend(readings);
      expect(trend.pointsUsed).toBe(120);
      for (const slope of [trend.slopePerHour, trend.low95PerHour, trend.high95PerHour])
        expect(slope).toBeCloseTo(-0.01, 9);
      expect(trend.valueAtEnd).toBeCloseTo(6.8, 9);
    }
    // One fewer is taken as it comes.
    const whole = Array.from({ length: 120 }, (_, i) => ({ timeMs: start + i ** 2 * 1000, value: i ** 2 }));
    expect(robustTrend(whole).pointsUsed).toBe(120);
    expect(robustTrend([...whole, { timeMs: start + 120 ** 2 * 1000, value: 120 ** 2 }]).pointsUsed).toBeLessThan(100);
  });
});
