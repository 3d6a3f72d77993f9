import { sureEnough } from '../bands/kinds/drift.ts';
import type { Band } from '../bands/watched-room.ts';
import { dayMs } from '../clock/durations.ts';
import { within } from '../quantity/out-of-range.ts';
import type { DemandEstimate } from './demand-filter.ts';
import { normalShareBelow, sdsFor95Percent } from './normal-distribution.ts';

export type DosingPlan = {
  /** Rise of the level by steady dosing, unit a day. */
  risePerDay: number;
  /** Single doses to come. */
  doses?: readonly { timeMs: number; rise: number }[];
};

export type ForecastPoint = {
  timeMs: number;
  level: number;
  low95: number;
  high95: number;
  /** Chance, from 0 to 1, that the level is outside the band at that moment, on each side of it. */
  chanceBelow: number;
  chanceAbove: number;
};

export type Forecast = {
  points: ForecastPoint[];
  /**
   * Largest chance over the days that the level is outside the band at one moment: a lower bound of the chance that it is
   * ever outside, close to it since the level moves slowly. From 0 to 1.
   */
  chanceToLeave: number;
  /** When the expected level leaves the band, and the first moment at which the 95 % interval touches an edge. */
  leavesAtMs?: number;
  mayLeaveAtMs?: number;
  leavesBy?: 'low' | 'high';
};

/** Chosen here: enough for a smooth curve of a week. */
const pointsPerDay = 4;

/**
 * The level over the next days under a dosing plan. The day cycle of the demand is left out: it comes back to 0 each day.
 * The interval widens with what is not known of the level, the demand and its growth, and with the demand's own wandering.
 *
 * @param estimate  by the demand filter at the time from which to look ahead
 * @param days  above 0, at most 60
 * @throws OutOfRange  for days outside this, or a plan that is not finite
 */
export function forecastLevel(
  estimate: DemandEstimate,
  plan: DosingPlan,
  band: Pick<Band, 'low' | 'high'>,
  days = 7,
): Forecast {
  within('days to look ahead', days, 0.01, 60);
  within('planned rise a day', plan.risePerDay, -1e4, 1e4);
  const steps = Math.ceil(days * pointsPerDay);
  const points: ForecastPoint[] = [];
  for (let step = 0; step <= steps; step++) {
    const ahead = (days * step) / steps;
    const timeMs = estimate.timeMs + ahead * dayMs;
    const dosed = (plan.doses ?? []).reduce((sum, dose) => {
      const isByThen = dose.timeMs > estimate.timeMs && dose.timeMs <= timeMs;
      return isByThen ? sum + within('planned dose', dose.rise, -1e4, 1e4) : sum;
    }, 0);
    // Demand × growth a day, twice integrated: what a demand that grows takes more than one that stays.
    const byGrowth = (Math.max(0, estimate.demandPerDay) * ahead * ahead) / 2;
    const level =
      estimate.level +
      (plan.risePerDay - estimate.demandPerDay) * ahead -
      (estimate.growthShare ?? 0) * byGrowth +
      dosed;
    const sd = Math.sqrt(
      Math.max(
        0,
        estimate.levelSd ** 2 -
          2 * ahead * estimate.levelDemandCovariance +
          (ahead * estimate.demandSd) ** 2 +
          ((estimate.growthShareSd ?? 0) * byGrowth) ** 2 +
          (estimate.learnedGrowthSd ** 2 * ahead ** 3) / 3,
      ),
    );
    points.push({
      timeMs,
      level,
      low95: level - sdsFor95Percent * sd,
      high95: level + sdsFor95Percent * sd,
      ...chancesOutside(level, sd, band),
    });
  }
  const leaving = points.find((point) => point.level < band.low || point.level > band.high);
  const touching = points.find((point) => point.low95 < band.low || point.high95 > band.high);
  return {
    points,
    chanceToLeave: Math.max(...points.map(({ chanceBelow, chanceAbove }) => chanceBelow + chanceAbove)),
    ...(leaving === undefined
      ? {}
      : { leavesAtMs: leavingTime(points, leaving, band), leavesBy: leaving.level < band.low ? 'low' : 'high' }),
    ...(touching === undefined ? {} : { mayLeaveAtMs: touching.timeMs }),
  };
}

function chancesOutside(
  level: number,
  sd: number,
  { low, high }: Pick<Band, 'low' | 'high'>,
): Pick<ForecastPoint, 'chanceBelow' | 'chanceAbove'> {
  if (sd === 0) return { chanceBelow: level < low ? 1 : 0, chanceAbove: level > high ? 1 : 0 };
  return { chanceBelow: normalShareBelow((low - level) / sd), chanceAbove: 1 - normalShareBelow((high - level) / sd) };
}

export type LikelyExit = {
  side: 'low' | 'high';
  /** When the chance is reached, UTC ms. */
  atMs: number;
  /** Chance, from 0 to 1, that the level has left on that side by then. */
  chance: number;
};

/**
 * The side on which the level is most likely to leave its band, the first time by which that is sure enough, and the chance
 * of that side by that time. Where no side ever is so sure: the likelier one, when its chance is largest.
 *
 * The chance by a time is taken as the largest at a moment until then: a lower bound, close since the level moves slowly.
 */
export function likelyExit({ points }: Forecast): LikelyExit {
  const [low, high] = [exitOn('low', points), exitOn('high', points)];
  const isSure = ({ chance }: LikelyExit): boolean => chance >= sureEnough;
  if (isSure(low) && isSure(high)) return high.atMs < low.atMs ? high : low;
  return high.chance > low.chance ? high : low;
}

function exitOn(side: 'low' | 'high', points: readonly ForecastPoint[]): LikelyExit {
  const chanceAt = (point: ForecastPoint): number => (side === 'low' ? point.chanceBelow : point.chanceAbove);
  const at = points.findIndex((point) => chanceAt(point) >= sureEnough);
  const after = points[at];
  if (after === undefined) {
    const likeliest = points.reduce((best, point) => (chanceAt(point) > chanceAt(best) ? point : best));
    return { side, atMs: likeliest.timeMs, chance: chanceAt(likeliest) };
  }
  const before = points[at - 1];
  if (before === undefined) return { side, atMs: after.timeMs, chance: chanceAt(after) };
  const share = (sureEnough - chanceAt(before)) / (chanceAt(after) - chanceAt(before));
  return { side, atMs: before.timeMs + share * (after.timeMs - before.timeMs), chance: sureEnough };
}

/** The crossing between the last point inside and the first outside, on the straight line between them. */
function leavingTime(
  points: readonly ForecastPoint[],
  leaving: ForecastPoint,
  band: Pick<Band, 'low' | 'high'>,
): number {
  const before = points[points.indexOf(leaving) - 1];
  if (before === undefined) return leaving.timeMs;
  const edge = leaving.level < band.low ? band.low : band.high;
  const share = (edge - before.level) / (leaving.level - before.level);
  return before.timeMs + share * (leaving.timeMs - before.timeMs);
}
