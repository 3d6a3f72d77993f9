import type { DemandEvidence } from '#rules/trend/demand-filter.ts';
import { demandHistory } from '#rules/trend/demand-history.ts';
import { dayMs, type SimulatedTank, simulateTank, type TankCase } from './simulated-tank.ts';

/** Shares of true levels and demands within one and two standard deviations of the curve, and the widths of its band. */
export type Coverage = {
  looks: number;
  levelWithin1: number;
  levelWithin2: number;
  demandWithin1: number;
  demandWithin2: number;
  /** Mean standard deviation of the level at tests and half-way between them, dKH. */
  sdAtTests: number;
  sdBetween: number;
  /** Root mean square error of the curve between tests, and the same for what was known then. */
  errorBetween: number;
};

export function diaryOf(tank: SimulatedTank): { timeMs: number; evidence: DemandEvidence }[] {
  return tank.events.flatMap((event): { timeMs: number; evidence: DemandEvidence }[] => {
    const { timeMs } = event;
    switch (event.is) {
      case 'test':
        return [
          { timeMs, evidence: { is: 'test', value: event.value, ...(event.sd === undefined ? {} : { sd: event.sd }) } },
        ];
      case 'dose':
        return [{ timeMs, evidence: { is: 'dose', rise: event.rise } }];
      case 'water_change':
        return [{ timeMs, evidence: { is: 'water_change', share: event.share, newLevel: event.newLevel } }];
      default:
        return event.isLogged ? [{ timeMs, evidence: { is: 'step_expected' } }] : [];
    }
  });
}

/** Looks at the curve of simulated tanks between the first test and the last. */
export function coverageOf(tank: TankCase, seeds: readonly number[]): Coverage {
  const sums = { looks: 0, level1: 0, level2: 0, demand1: 0, demand2: 0, squares: 0 };
  const sds = { at: [] as number[], between: [] as number[] };
  for (const seed of seeds) {
    const simulated = simulateTank(tank, seed);
    const { resolution } = tank;
    const options = { analyte: 'alkalinity' as const, ...(resolution === undefined ? {} : { resolution }) };
    const points = demandHistory(diaryOf(simulated), options);
    const testTimes = points.filter(({ test }) => test !== undefined).map(({ timeMs }) => timeMs);
    for (const [at, point] of points.entries()) {
      // The second of the same time is the level after a dose or a water change.
      if (points[at - 1]?.timeMs === point.timeMs) continue;
      const nearest = Math.min(...testTimes.map((timeMs) => Math.abs(timeMs - point.timeMs)));
      if (point.test?.isUsed === true) sds.at.push(point.levelSd);
      if (nearest > 0.4 * dayMs * tank.testEvery[0]) sds.between.push(point.levelSd);
      const levelError = Math.abs(point.level - simulated.levelAt(point.timeMs));
      const demandError = Math.abs(point.demandPerDay - simulated.demandAt(point.timeMs));
      sums.looks += 1;
      sums.level1 += Number(levelError <= point.levelSd);
      sums.level2 += Number(levelError <= 2 * point.levelSd);
      sums.demand1 += Number(demandError <= point.demandSd);
      sums.demand2 += Number(demandError <= 2 * point.demandSd);
      sums.squares += levelError ** 2;
    }
  }
  const share = (count: number): number => count / sums.looks;
  const mean = (numbers: readonly number[]): number => numbers.reduce((sum, each) => sum + each, 0) / numbers.length;
  return {
    looks: sums.looks,
    ...{ levelWithin1: share(sums.level1), levelWithin2: share(sums.level2) },
    ...{ demandWithin1: share(sums.demand1), demandWithin2: share(sums.demand2) },
    ...{ sdAtTests: mean(sds.at), sdBetween: mean(sds.between), errorBetween: Math.sqrt(share(sums.squares)) },
  };
}
