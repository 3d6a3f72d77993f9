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

  it('a flat stream has no slope, and too few readings none at all', () => {
    const flat = [0, 1, 2, 3].map((i) => ({ timeMs: start + i * hourMs, value: 8 }));
    expect(robustTrend(flat)).toMatchObject({ slopePerHour: 0, low95PerHour: 0, high95PerHour: 0 });
    expect(() => robustTrend(flat.slice(0, 2))).toThrow('3 or more');
    expect(() => robustTrend(flat.map(({ value }) => ({ timeMs: start, value })))).toThrow('3 or more');
  });

  it('a day of readings each second costs no more than its medians', () => {
    const readings = Array.from({ length: 86_400 }, (_, i) => ({ timeMs: start + i * 1000, value: 8 + i / 86_400 }));
    const trend = robustTrend(readings);
    expect(trend.pointsUsed).toBeLessThanOrEqual(120);
    expect(trend.slopePerHour).toBeCloseTo(1 / 24, 4);
  });
});
