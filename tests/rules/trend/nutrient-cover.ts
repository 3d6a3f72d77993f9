import { type DemandEstimate, demandEstimate, startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import { seededRandom } from './seeded-random.ts';

const dayMs = 86_400_000;
/** As a usual drop kit has it: it shows 0 below this. mg/L. */
const limit = 0.02;

export type NutrientCover = {
  level: number;
  use: number;
  /** Share of the tests that showed nothing. */
  below: number;
  /** Root mean square error of the level, mg/L, and the same for a keeper who takes 0 as zero. */
  levelError: number;
  levelErrorAsZero: number;
  /** What the intervals would hold then. */
  levelAsZero: number;
  useAsZero: number;
};

type Followed = { estimate: DemandEstimate; level: number; use: number; below: number; tests: number };

/** An invented tank: corals and algae take more phosphate than food brings, and its keeper doses a little where a test shows next to nothing. */
function follow(seed: number, isZeroTaken: boolean): Followed {
  const random = seededRandom(seed);
  const days = 90;
  const testSd = random.between(0.006, 0.02);
  let use = random.between(-0.0003, 0.004);
  let level = random.between(0.02, 0.12);
  let nextTest = 0;
  let [below, tests] = [0, 0];
  let state = startDemand({ analyte: 'phosphate' });
  for (let hour = 0; hour < days * 24; hour += 1) {
    const timeMs = Date.UTC(2026, 0, 5) + (hour * dayMs) / 24;
    if (hour >= nextTest) {
      const read = level + testSd * random.gaussian();
      const isBelow = read < limit;
      tests += 1;
      below += Number(isBelow);
      const value = isBelow ? (isZeroTaken ? 0 : limit) : read;
      state = stepDemand(
        state,
        { is: 'test', value, sd: testSd, ...(isBelow && !isZeroTaken ? { isBelow } : {}) },
        timeMs,
      );
      nextTest = hour + 24 * random.between(1.5, 5);
      if (read < 0.015) {
        const rise = random.between(0.015, 0.04);
        state = stepDemand(state, { is: 'dose', rise }, timeMs);
        level += rise;
      }
    }
    use += 0.00008 * Math.sqrt(1 / 24) * random.gaussian();
    level = Math.max(0, level - use / 24);
  }
  const endMs = Date.UTC(2026, 0, 5) + days * dayMs;
  return { estimate: demandEstimate(state, endMs)!, level, use, below, tests };
}

export function nutrientCover(seeds: readonly number[]): NutrientCover {
  const found = seeds.map((seed) => follow(seed, false));
  const asZero = seeds.map((seed) => follow(seed, true));
  const share = (all: readonly Followed[], of: (each: Followed) => boolean): number =>
    all.filter(of).length / all.length;
  const isLevelIn = ({ estimate, level }: Followed): boolean =>
    Math.abs(estimate.level - level) <= 1.96 * estimate.levelSd;
  const isUseIn = ({ estimate, use }: Followed): boolean =>
    Math.abs(estimate.demandPerDay - use) <= 1.96 * estimate.demandSd;
  const error = (all: readonly Followed[]): number =>
    Math.sqrt(all.reduce((sum, { estimate, level }) => sum + (estimate.level - level) ** 2, 0) / all.length);
  return {
    ...{ level: share(found, isLevelIn), use: share(found, isUseIn) },
    ...{ levelAsZero: share(asZero, isLevelIn), useAsZero: share(asZero, isUseIn) },
    below: found.reduce((sum, each) => sum + each.below, 0) / found.reduce((sum, each) => sum + each.tests, 0),
    levelError: error(found),
    levelErrorAsZero: error(asZero),
  };
}

export type StarvedCover = { level: number; use: number; below: number; useMeanError: number };

/**
 * Invented tanks that live near nothing: uptake falls with what is there (Monod: by half at 0.01 to 0.05 mg/L), food brings a little, and
 * every second keeper doses a little where a test shows next to nothing. The use is what the water really lost in the last three days.
 */
export function starvedCover(seeds: readonly number[]): StarvedCover {
  const found = seeds.map((seed) => followStarved(seed, seed % 2 === 0));
  const share = (of: (each: (typeof found)[number]) => boolean): number => found.filter(of).length / found.length;
  return {
    level: share(({ estimate, level }) => Math.abs(estimate.level - level) <= 1.96 * estimate.levelSd),
    use: share(({ estimate, use }) => Math.abs(estimate.demandPerDay - use) <= 1.96 * estimate.demandSd),
    below: found.reduce((sum, each) => sum + each.below, 0) / found.reduce((sum, each) => sum + each.tests, 0),
    useMeanError: found.reduce((sum, { estimate, use }) => sum + estimate.demandPerDay - use, 0) / found.length,
  };
}

function followStarved(seed: number, isDosed: boolean): Followed {
  const random = seededRandom(seed);
  const days = 90;
  const testSd = random.between(0.006, 0.02);
  const most = random.between(0.002, 0.008);
  const half = random.between(0.01, 0.05);
  const food = random.between(0.0002, 0.001);
  let level = random.between(0.02, 0.12);
  let [nextTest, nextDose, below, tests, lost] = [0, 0, 0, 0, 0];
  let state = startDemand({ analyte: 'phosphate' });
  const startMs = Date.UTC(2026, 0, 5);
  for (let hour = 0; hour < days * 24; hour += 1) {
    const timeMs = startMs + (hour * dayMs) / 24;
    if (hour >= nextTest) {
      const read = level + testSd * random.gaussian();
      const isBelow = read < limit;
      tests += 1;
      below += Number(isBelow);
      const value = isBelow ? limit : read;
      state = stepDemand(state, { is: 'test', value, sd: testSd, ...(isBelow ? { isBelow } : {}) }, timeMs);
      nextTest = hour + 24 * random.between(1.5, 5);
      if (isDosed && read < 0.015 && hour >= nextDose) {
        const rise = random.between(0.01, 0.02);
        state = stepDemand(state, { is: 'dose', rise }, timeMs);
        level += rise;
        nextDose = hour + 48;
      }
    }
    const after = Math.max(0, level - ((most * level) / (level + half) - food) / 24);
    if (hour >= (days - 3) * 24) lost += level - after;
    level = after;
  }
  return { estimate: demandEstimate(state, startMs + days * dayMs)!, level, use: lost / 3, below, tests };
}
