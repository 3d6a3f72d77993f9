import { demandEstimate, startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import { bestPossible, type Estimate, straightLine } from './rival-estimates.ts';
import { simulateTank, type TankCase, type TankEvent } from './simulated-tank.ts';

/** The demand filter over a history, by what was known at each test. */
export function filterEstimates(tank: TankCase, events: readonly TankEvent[]): Estimate[] {
  const rows: Estimate[] = [];
  let state = startDemand({
    analyte: 'alkalinity',
    ...(tank.resolution === undefined ? {} : { resolution: tank.resolution }),
  });
  for (const event of events) {
    const { timeMs } = event;
    if (event.is === 'dose') state = stepDemand(state, { is: 'dose', rise: event.rise }, timeMs);
    if (event.is === 'water_change') {
      state = stepDemand(state, { is: 'water_change', share: event.share, newLevel: event.newLevel }, timeMs);
    }
    if (event.is === 'step' && event.isLogged) state = stepDemand(state, { is: 'step_expected' }, timeMs);
    if (event.is !== 'test') continue;
    const sd = event.sd === undefined ? {} : { sd: event.sd };
    state = stepDemand(state, { is: 'test', value: event.value, ...sd }, timeMs);
    const estimate = demandEstimate(state, timeMs)!;
    const { level, levelSd, demandPerDay, demandSd, suspect } = estimate;
    rows.push({ level, levelSd, demand: demandPerDay, demandSd, suspect });
  }
  return rows;
}

export type Comparison = {
  name: string;
  tests: number;
  /** Median absolute error of level and demand: filter, best possible, straight line. */
  level: { filter: number; best: number; line: number };
  demand: { filter: number; best: number; line: number };
  /** Share of tests at which the 95 % interval held the truth. */
  levelHeld: number;
  demandHeld: number;
  /** Shares of outlying tests called suspect, and of good tests called suspect. */
  outliersSeen: number;
  falseSuspects: number;
};

/** Tests left out at the start, while even the best possible filter knows little. */
const firstTests = 4;

/** Runs a case over several histories and compares. */
export function compare(tank: TankCase, runs: number): Comparison {
  const errors = {
    level: { filter: [] as number[], best: [] as number[], line: [] as number[] },
    demand: { filter: [] as number[], best: [] as number[], line: [] as number[] },
  };
  const counts = { tests: 0, level: 0, demand: 0, outliers: 0, seen: 0, falsely: 0 };
  for (let run = 0; run < runs; run++) {
    const history = simulateTank(tank, 1000 * run + hashOf(tank.name));
    const tests = history.events.filter((event) => event.is === 'test');
    const all = {
      filter: filterEstimates(tank, history.events),
      best: bestPossible(tank, history),
      line: straightLine(history.events),
    };
    tests.forEach((test, i) => {
      if (i < firstTests) return;
      for (const rival of ['filter', 'best', 'line'] as const) {
        const estimate = all[rival][i];
        if (estimate === undefined) continue;
        errors.level[rival].push(Math.abs(estimate.level - test.level));
        errors.demand[rival].push(Math.abs(estimate.demand - test.demand));
      }
      const mine = all.filter[i]!;
      counts.tests++;
      if (Math.abs(mine.level - test.level) < 1.96 * mine.levelSd) counts.level++;
      if (Math.abs(mine.demand - test.demand) < 1.96 * mine.demandSd) counts.demand++;
      if (test.isOutlier) counts.outliers++;
      if (test.isOutlier && mine.suspect) counts.seen++;
      if (!test.isOutlier && mine.suspect) counts.falsely++;
    });
  }
  const medians = (of: { filter: number[]; best: number[]; line: number[] }) => ({
    filter: median(of.filter),
    best: median(of.best),
    line: median(of.line),
  });
  return {
    name: tank.name,
    tests: counts.tests,
    level: medians(errors.level),
    demand: medians(errors.demand),
    levelHeld: counts.level / counts.tests,
    demandHeld: counts.demand / counts.tests,
    outliersSeen: counts.outliers === 0 ? Number.NaN : counts.seen / counts.outliers,
    falseSuspects: counts.falsely / (counts.tests - counts.outliers),
  };
}

function median(numbers: readonly number[]): number {
  const sorted = [...numbers].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

function hashOf(name: string): number {
  return [...name].reduce((sum, letter) => (sum * 31 + letter.charCodeAt(0)) >>> 0, 7) % 1_000_003;
}
