import { dayMs } from '../clock/durations.ts';
/**
 * One Gaussian belief about a system's level and demand, and how it moves with time, water changes and tests.
 *
 * The water loses demand × (1 + a cos ωt + b sin ωt) a day, ω one turn a day: corals calcify more in light, and a and b say
 * how much more and when. They are learned with the rest, so the light hours need not be known. Integrated over whole days
 * the cycle vanishes, so `demand` is the loss of a whole day.
 */
export type Belief = {
  /** Level; demand a day; a; b. */
  mean: readonly number[];
  /** Covariance of these four, row by row, 16 numbers. */
  covariance: readonly number[];
};

/** How the demand is taken to wander in one hypothesis. */
export type Wander = {
  /** Random growth of demand, as a share of it, for each square root of a day. */
  growthSd: number;
  /** A smaller demand wanders as if it were this large, unit a day. */
  leastDemand: number;
  /** Steady growth as a share of demand a day. */
  growthShare: number;
  /** Level noise for each square root of a day. */
  levelSd: number;
};

/** A full turn, rad. Exact. */
const turn = 2 * Math.PI;
/** How fast the day cycle itself may change, for each square root of a day: lights are rarely altered. */
const cycleSd = 0.005;

/** Integrals over time of cos ωt and sin ωt from one UTC time to another, in days. */
function cycleIntegrals(fromMs: number, toMs: number): { cosine: number; sine: number } {
  const from = (turn * (fromMs % dayMs)) / dayMs;
  const to = (turn * (toMs % dayMs)) / dayMs;
  return { cosine: (Math.sin(to) - Math.sin(from)) / turn, sine: (Math.cos(from) - Math.cos(to)) / turn };
}

/**
 * The belief at a later time, with no test, dose or water change between.
 *
 * The level depends on the product of demand and cycle: the mean moves exactly, the covariance by the slopes at the mean
 * (an extended Kalman filter) with the variance of the product added to the level.
 *
 * @param fromMs  UTC time of the belief, ms
 * @param toMs  UTC time wanted, not before fromMs
 * @source Särkkä & Svensson, Bayesian Filtering and Smoothing, 2nd ed. (2023), extended Kalman filter (cited from memory)
 */
export function carriedOn(belief: Belief, fromMs: number, toMs: number, wander: Wander): Belief {
  return {
    mean: carriedMean(belief.mean, fromMs, toMs, wander),
    covariance: carriedCovariance(belief, fromMs, toMs, wander),
  };
}

function carriedMean(mean: readonly number[], fromMs: number, toMs: number, wander: Wander): number[] {
  const [level, demand, a, b] = mean as [number, number, number, number];
  const days = (toMs - fromMs) / dayMs;
  const { cosine, sine } = cycleIntegrals(fromMs, toMs);
  const grownDays = days + (wander.growthShare * days * days) / 2;
  return [level - demand * (grownDays + a * cosine + b * sine), demand * Math.exp(wander.growthShare * days), a, b];
}

/** Slopes of the carried state by the state, 16 numbers row by row. */
export function carryingSlopes(mean: readonly number[], fromMs: number, toMs: number, wander: Wander): number[] {
  const [, demand, a, b] = mean as [number, number, number, number];
  const days = (toMs - fromMs) / dayMs;
  const { cosine, sine } = cycleIntegrals(fromMs, toMs);
  const grownDays = days + (wander.growthShare * days * days) / 2;
  const levelByDemand = -(grownDays + a * cosine + b * sine);
  return [
    ...[1, levelByDemand, -demand * cosine, -demand * sine],
    ...[0, Math.exp(wander.growthShare * days), 0, 0],
    ...[0, 0, 1, 0],
    ...[0, 0, 0, 1],
  ];
}

/** F P Fᵀ + Q, written out for the shape of F: only the level takes from the others, and the demand grows on its own. */
function carriedCovariance(belief: Belief, fromMs: number, toMs: number, wander: Wander): number[] {
  const days = (toMs - fromMs) / dayMs;
  const { cosine, sine } = cycleIntegrals(fromMs, toMs);
  const [, demand, a, b] = belief.mean as [number, number, number, number];
  const grownDays = days + (wander.growthShare * days * days) / 2;
  const byDemand = -(grownDays + a * cosine + b * sine);
  const byA = -demand * cosine;
  const byB = -demand * sine;
  const grown = Math.exp(wander.growthShare * days);
  const p = belief.covariance;
  const withLevel = (k: number): number => p[k]! + byDemand * p[4 + k]! + byA * p[8 + k]! + byB * p[12 + k]!;
  const growth = (wander.growthSd * Math.max(wander.leastDemand, demand)) ** 2;
  const product = p[5]! * (p[10]! * cosine * cosine + p[15]! * sine * sine);
  const level =
    withLevel(0) +
    byDemand * withLevel(1) +
    byA * withLevel(2) +
    byB * withLevel(3) +
    (growth * days ** 3) / 3 +
    wander.levelSd ** 2 * days +
    product;
  const levelDemand = grown * withLevel(1) - (growth * days * days) / 2;
  const levelA = withLevel(2);
  const levelB = withLevel(3);
  const drift = cycleSd * cycleSd * days;
  return [
    ...[level, levelDemand, levelA, levelB],
    ...[levelDemand, grown * grown * p[5]! + growth * days, grown * p[6]!, grown * p[7]!],
    ...[levelA, grown * p[9]!, p[10]! + drift, p[11]!],
    ...[levelB, grown * p[13]!, p[14]!, p[15]! + drift],
  ];
}

/**
 * The belief after a share of the water was swapped for new water.
 *
 * @param share  from 0 to 1 of the system's volume
 * @param newLevel  of the new water, in the analyte's unit, with its standard deviation
 */
export function mixed(belief: Belief, share: number, newLevel: number, newLevelSd: number): Belief {
  const kept = 1 - share;
  const mean = [...belief.mean];
  mean[0] = mean[0]! * kept + newLevel * share;
  const covariance = [...belief.covariance];
  for (let k = 1; k < 4; k++) {
    covariance[k]! *= kept;
    covariance[k * 4]! *= kept;
  }
  covariance[0] = covariance[0]! * kept * kept + (newLevelSd * share) ** 2;
  return { mean, covariance };
}

/** The belief with more variance on one state (0 level, 1 demand): something may have happened to it. */
export function loosened(belief: Belief, state: 0 | 1, addedVariance: number): Belief {
  const covariance = [...belief.covariance];
  covariance[state * 5]! += addedVariance;
  return { mean: belief.mean, covariance };
}

/**
 * The belief after a test of the level, and how well the test fitted (log of its predicted density).
 *
 * @param variance  of the test, unit²
 */
export function tested(belief: Belief, value: number, variance: number): { belief: Belief; logDensity: number } {
  const p = belief.covariance;
  const spread = p[0]! + variance;
  const innovation = value - belief.mean[0]!;
  const mean = new Array<number>(4);
  const covariance = new Array<number>(16);
  for (let row = 0; row < 4; row++) {
    const gain = p[row * 4]! / spread;
    mean[row] = belief.mean[row]! + gain * innovation;
    for (let column = 0; column < 4; column++) covariance[row * 4 + column] = p[row * 4 + column]! - gain * p[column]!;
  }
  const logDensity = -0.5 * (Math.log(turn * spread) + (innovation * innovation) / spread);
  return { belief: { mean, covariance }, logDensity };
}

/** One belief with the mean and covariance of a weighted mixture. Weights need not add up to 1, but must not all be 0. */
export function merged(parts: readonly { weight: number; belief: Belief }[]): Belief {
  const total = parts.reduce((sum, part) => sum + part.weight, 0);
  const mean = [0, 0, 0, 0];
  for (const { weight, belief } of parts) for (let k = 0; k < 4; k++) mean[k]! += (weight / total) * belief.mean[k]!;
  const covariance = new Array<number>(16).fill(0);
  for (const { weight, belief } of parts)
    for (let row = 0; row < 4; row++)
      for (let column = 0; column < 4; column++) {
        const apart = (belief.mean[row]! - mean[row]!) * (belief.mean[column]! - mean[column]!);
        covariance[row * 4 + column]! += (weight / total) * (belief.covariance[row * 4 + column]! + apart);
      }
  return { mean, covariance };
}
