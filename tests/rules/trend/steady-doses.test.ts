import { describe, expect, it } from 'vitest';
import type { DemandEvidence } from '#rules/trend/demand-filter.ts';
import { demandHistory } from '#rules/trend/demand-history.ts';
import { steadyRise } from '#rules/trend/steady-doses.ts';

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const start = Date.UTC(2026, 1, 1);
const dose = (hour: number, rise: number) => ({
  timeMs: start + hour * hourMs,
  evidence: { is: 'dose', rise, isPlanned: true } as const satisfies DemandEvidence,
});

describe('doses in small portions', () => {
  it('are a saw, or more or less than was dosed', () => {
    const rise = steadyRise([0, 6, 12, 18].map((hour) => dose(hour + 3, 0.25)));
    // By hand: a quarter of a degree in each six hours, from the first hour to the last of the day.
    for (const hour of [0, 1, 6, 7.5, 12, 20, 24])
      expect(rise(start + hour * hourMs)).toBeCloseTo((0.25 * hour) / 6, 9);
    expect(rise(start - 9 * hourMs)).toBe(0);
    expect(rise(start + 99 * hourMs)).toBe(1);
  });

  it('go on through a week in which the pump stood still', () => {
    const rise = steadyRise([dose(3, 0.25), dose(9, 0.25), dose(177, 0.25), dose(183, 0.25)]);
    expect(rise(start + 13 * hourMs)).toBeCloseTo(0.5, 9);
    expect(rise(start + 173 * hourMs)).toBeCloseTo(0.5, 9);
    expect(rise(start + 186 * hourMs)).toBeCloseTo(1, 9);
  });

  it('a month of a dosed tank is drawn as a seismograph', () => {
    const tests = Array.from({ length: 31 }, (_, day) => ({
      timeMs: start + day * dayMs,
      evidence: { is: 'test', value: 8 + 0.1 * Math.sin(day * 7), sd: 0.1 } as const,
    }));
    const doses = Array.from({ length: 120 }, (_, quarter) => dose(6 * quarter + 3, 0.25));
    const diary = [...tests, ...doses].toSorted((a, b) => a.timeMs - b.timeMs);
    const points = demandHistory(diary, { analyte: 'alkalinity' });
    // One point a moment, and none that leaps from the one before: the demand of 1 dKH a day is met evenly.
    expect(new Set(points.map(({ timeMs }) => timeMs)).size).toBe(points.length);
    for (const [at, { level }] of points.entries())
      expect(Math.abs(level - (points[at - 1]?.level ?? level))).toBeLessThan(0.12);
    expect(points.at(-1)!.demandPerDay).toBeCloseTo(1, 1);
  });
});
