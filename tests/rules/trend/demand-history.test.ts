import { describe, expect, it } from 'vitest';
import type { DemandEvidence } from '#rules/trend/demand-filter.ts';
import { demandHistory } from '#rules/trend/demand-history.ts';
import { filterEstimates } from './compare-estimates.ts';
import { simulateTank } from './simulated-tank.ts';
import { tankCases } from './tank-cases.ts';

const tank = tankCases.find((entry) => entry.name === 'wandering demand')!;

describe('the past as it looks from today', () => {
  it('is nearer to the truth than what was known then', () => {
    const ratios = [1, 2, 3, 4].map((seed) => {
      const history = simulateTank(tank, seed);
      const diary = history.events.flatMap((event): { timeMs: number; evidence: DemandEvidence }[] => {
        const { timeMs } = event;
        if (event.is === 'test') return [{ timeMs, evidence: { is: 'test', value: event.value, sd: event.sd! } }];
        if (event.is === 'dose') return [{ timeMs, evidence: { is: 'dose', rise: event.rise } }];
        return [];
      });
      const points = demandHistory(diary, { analyte: 'alkalinity' }).filter((point) => point.test !== undefined);
      const tests = history.events.filter((event) => event.is === 'test');
      expect(points.map((point) => point.timeMs)).toEqual(tests.map((event) => event.timeMs));
      const then = filterEstimates(tank, history.events);
      const error = (demands: number[]): number =>
        demands.reduce((sum, demand, i) => sum + Math.abs(demand - tests[i]!.demand), 0);
      return error(points.map((point) => point.demandPerDay)) / error(then.map((row) => row.demand));
    });
    for (const ratio of ratios) expect(ratio).toBeLessThan(0.9);
  });

  it('keeps a refuted test on the plot, marked as not used', () => {
    const start = Date.UTC(2026, 1, 1, 18);
    const values = [8, 8, 8, 8, 8, 8, 5.5, 8, 8];
    const diary = values.map((value, day) => ({
      timeMs: start + day * 86_400_000,
      evidence: { is: 'test' as const, value, sd: 0.1 },
    }));
    const tested = demandHistory(diary, { analyte: 'alkalinity' }).filter((point) => point.test !== undefined);
    expect(tested.map((point) => point.test!.isUsed)).toEqual(values.map((value) => value === 8));
    for (const point of tested) expect(point.level).toBeCloseTo(8, 0);
  });

  it('does not run along the peaks of a tank that gets all of its day at once', () => {
    const hourMs = 3_600_000;
    const start = Date.UTC(2026, 1, 1, 8);
    // A tank that uses 1 dKH a day, evenly, and is given as much at once at noon: 8.5 at its peak, 7.5 before the next dose.
    const levelAt = (timeMs: number) => 8.5 - ((((timeMs - start) / hourMs + 20) % 24) * 1) / 24;
    const diary = Array.from({ length: 14 }, (_, day) => [
      { timeMs: start + day * 24 * hourMs, evidence: { is: 'test' as const, value: levelAt(start), sd: 0.02 } },
      { timeMs: start + (day * 24 + 4) * hourMs, evidence: { is: 'dose' as const, rise: 1 } },
    ]).flat();
    const lastDays = demandHistory(diary, { analyte: 'alkalinity' }).filter(
      ({ timeMs }) => timeMs > start + 10 * 24 * hourMs && timeMs <= start + 12 * 24 * hourMs,
    );
    const doses = lastDays.filter((point, at) => point.timeMs === lastDays[at + 1]?.timeMs);
    expect(doses).toHaveLength(2);
    for (const { level } of doses) expect(level).toBeCloseTo(7.5, 1);
    for (const { level } of doses.map((before) => lastDays[lastDays.indexOf(before) + 1]!))
      expect(level).toBeCloseTo(8.5, 1);
  });

  it('is empty before the first test', () => {
    expect(demandHistory([{ timeMs: 0, evidence: { is: 'dose', rise: 1 } }], { analyte: 'calcium' })).toEqual([]);
  });
});
