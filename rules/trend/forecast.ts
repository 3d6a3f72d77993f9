import type { Band } from '../bands/watched-room.ts';
import { within } from '../quantity/out-of-range.ts';
import type { DemandEstimate } from './demand-filter.ts';
import { dayMs } from './demand-model.ts';
import { normalShareBelow, sdsFor95Percent } from './normal-distribution.ts';

export type DosingPlan = {
  /** Rise of the level by steady dosing, unit a day. */
  risePerDay: number;
  /** Single doses to come. */
  doses?: readonly { timeMs: number; rise: number }[];
};

export type ForecastPoint = { timeMs: number; level: number; low95: number; high95: number; chanceOutside: number };

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
      ...{ timeMs, level, low95: level - sdsFor95Percent * sd, high95: level + sdsFor95Percent * sd },
      chanceOutside: chanceOutside(level, sd, band),
    });
  }
  const leaving = points.find((point) => point.level < band.low || point.level > band.high);
  const touching = points.find((point) => point.low95 < band.low || point.high95 > band.high);
  return {
    points,
    chanceToLeave: Math.max(...points.map((point) => point.chanceOutside)),
    ...(leaving === undefined
      ? {}
      : { leavesAtMs: leavingTime(points, leaving, band), leavesBy: leaving.level < band.low ? 'low' : 'high' }),
    ...(touching === undefined ? {} : { mayLeaveAtMs: touching.timeMs }),
  };
}

function chanceOutside(level: number, sd: number, band: Pick<Band, 'low' | 'high'>): number {
  if (sd === 0) return level < band.low || level > band.high ? 1 : 0;
  return normalShareBelow((band.low - level) / sd) + 1 - normalShareBelow((band.high - level) / sd);
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
