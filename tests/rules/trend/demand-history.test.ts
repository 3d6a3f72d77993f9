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

  it('is empty before the first test', () => {
    expect(demandHistory([{ timeMs: 0, evidence: { is: 'dose', rise: 1 } }], { analyte: 'calcium' })).toEqual([]);
  });
});
