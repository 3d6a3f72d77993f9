import type { Bands } from '../bands/watched-room.ts';
import { within } from '../quantity/out-of-range.ts';
import { type ExchangeMethod, type MixedMetric, type MixedWater, mixedMetrics } from './mixed-water.ts';

/** One metric that is to be moved by exchanging water. All values in the metric's store unit. */
export type ExchangeWish = {
  /** True volume of the tank, 0.1 to 10,000,000 L. */
  volumeL: number;
  now: number;
  target: number;
  /** What the new water holds; the target must lie between it and `now`. */
  incoming: number;
  /** Most that the metric may move in a day, above 0; no limit unless given. */
  mostPerDay?: number;
  /** Most of the tank to replace in a day, 0.001 to 1; all of it unless given. */
  mostShareOfVolume?: number;
  /** `drain_then_fill` unless given. */
  method?: ExchangeMethod;
};

type ExchangeDay = { exchangedL: number; before: number; after: number };

export type ExchangePlan =
  | { kind: 'plan'; days: ExchangeDay[]; totalL: number }
  | { kind: 'no_plan'; fault: 'incoming_does_not_reach' | 'takes_too_long'; why: string };

/** More days than this are no plan any more. */
const mostDays = 366;

/** Most of a tank that a continuous exchange is asked to replace: the last drops would take for ever. */
const mostContinuousShare = 0.999;

/**
 * How much water to exchange, day by day, to bring one metric to a target without moving it too much in a day. Each day
 * starts from where the last one ended; what the animals use and what is dosed meanwhile is not in it.
 *
 * @returns a plan without days when the metric is right already, or why no exchange of this water gets there
 * @throws OutOfRange  for a number that is not finite or outside the limits of ExchangeWish
 * @source conservation of what is dissolved
 */
export function exchangeByDay(wish: ExchangeWish): ExchangePlan {
  const volumeL = within('volume, L', wish.volumeL, 0.1, 1e7);
  const incoming = within('incoming water', wish.incoming, -1e6, 1e6);
  const target = within('target', wish.target, -1e6, 1e6);
  const mostPerDay = within('most change in a day', wish.mostPerDay ?? 1e9, 1e-9, 1e9);
  const method = wish.method ?? 'drain_then_fill';
  const mostShareAsked = within('most of the tank in a day', wish.mostShareOfVolume ?? 1, 1e-3, 1);
  const mostShare = Math.min(mostShareAsked, method === 'continuous' ? mostContinuousShare : 1);
  let current = within('now', wish.now, -1e6, 1e6);
  if (current === target) return { kind: 'plan', days: [], totalL: 0 };

  const isBetween = Math.sign(target - current) === Math.sign(incoming - target);
  // Drained and filled, a tank can become the new water; in a stirred one some of the old always stays.
  if (!isBetween && !(incoming === target && method === 'drain_then_fill')) {
    const why = `The new water holds ${incoming}: exchanging it cannot bring ${current} to ${target}. Use other water, or dose.`;
    return { kind: 'no_plan', fault: 'incoming_does_not_reach', why };
  }
  const days: ExchangeDay[] = [];
  let totalL = 0;
  while (current !== target) {
    if (days.length === mostDays) {
      const why = `After ${mostDays} days it would be ${current.toPrecision(4)}. Use water that is further from the tank.`;
      return { kind: 'no_plan', fault: 'takes_too_long', why };
    }
    const distance = incoming - current;
    const wanted = Math.min(Math.abs(target - current), mostPerDay);
    const share = Math.min(wanted / Math.abs(distance), mostShare);
    // The last step lands on the target itself, not a float beside it.
    const isLast = share * Math.abs(distance) >= Math.abs(target - current) * (1 - 1e-12);
    const after = isLast ? target : current + share * distance;
    const exchangedL = litresForShare(volumeL, share, method);
    days.push({ exchangedL, before: current, after });
    totalL += exchangedL;
    current = after;
  }
  return { kind: 'plan', days, totalL };
}

/** Litres to exchange so that a share of the tank is new water: the inverse of `shareReplaced`. */
function litresForShare(volumeL: number, share: number, method: ExchangeMethod): number {
  if (method === 'drain_then_fill') return volumeL * share;
  return -volumeL * Math.log1p(-share);
}

/** The most that may be exchanged in one day, and the metric that sets it. */
export type LargestExchange = { exchangedL: number; limitedBy?: MixedMetric };

/**
 * The largest water change in one day that moves no metric by more than its band allows in a day.
 *
 * @param tank, incoming  what is known of each water; a metric that either lacks sets no limit, so test the new water
 * @param bands           `mostPerDay` of each metric counts
 * @param volumeL         0.1 to 10,000,000 L
 * @returns litres, drained then filled; the whole volume when nothing limits it
 * @throws OutOfRange  for a volume outside its limits or a metric that is not finite
 */
export function largestExchangeInDay(
  tank: MixedWater,
  incoming: MixedWater,
  bands: Bands,
  volumeL: number,
): LargestExchange {
  let exchangedL = within('volume, L', volumeL, 0.1, 1e7);
  let limitedBy: MixedMetric | undefined;
  for (const metric of mixedMetrics) {
    const [inTank, inNew, mostPerDay] = [tank[metric], incoming[metric], bands[metric]?.mostPerDay];
    if (inTank === undefined || inNew === undefined || mostPerDay === undefined) continue;
    const distance = Math.abs(within(metric, inNew, -1e6, 1e6) - within(metric, inTank, -1e6, 1e6));
    const litres =
      distance > 0 ? (volumeL * within(`most of ${metric} in a day`, mostPerDay, 0, 1e6)) / distance : volumeL;
    if (litres >= exchangedL) continue;
    exchangedL = litres;
    limitedBy = metric;
  }
  return limitedBy === undefined ? { exchangedL } : { exchangedL, limitedBy };
}
