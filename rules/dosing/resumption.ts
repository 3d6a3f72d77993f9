import { dayMs } from '../clock/durations.ts';
import { measurable } from './advice-product.ts';
import type { AdviceInput, Resumption } from './advice-types.ts';
import type { Worked } from './advice-worked.ts';

/** A stop is looked at again at the latest after so many days. */
const longestDays = 7;

/** The middle of what was known of the use in the last weeks, unit a day. */
export function usualUse(pastDemands: AdviceInput['pastDemands'] = []): number | undefined {
  const rising = pastDemands.map(({ demandPerDay }) => demandPerDay).sort((a, b) => a - b);
  return rising[Math.floor(rising.length / 2)];
}

/**
 * When and at what rate dosing that is stopped begins again: when the use has brought the level to the middle of the band, at the use as
 * it was known. Undefined while something is dosed, or where nothing is used.
 */
export function resumption({ input, estimate, planned, stocks, planPerDay }: Worked): Resumption | undefined {
  const { band } = input.system;
  if (planned.risePerDay > 1e-9 || stocks.length === 0) return undefined;
  // While the level rises by something unlogged the demand of now is not that of the corals.
  const used = Math.max(estimate.demandPerDay, usualUse(input.pastDemands) ?? 0, 0.25 * planPerDay);
  if (used <= 0) return undefined;
  const middle = (band.low + band.high) / 2;
  const days = Math.min(longestDays, Math.max(0, (estimate.level - middle) / used));
  const one = stocks.find(({ refusal }) => refusal === undefined) ?? stocks[0]!;
  const { risePerUnit, unit, product } = one.strength;
  const amountPerDay = measurable(Math.min(used / risePerUnit, one.limit.most), 'down');
  const isMeasured = risePerUnit > 0 && amountPerDay > 0;
  return {
    atMs: input.nowMs + days * dayMs,
    risePerDay: isMeasured ? amountPerDay * risePerUnit : used,
    ...(isMeasured ? { product: { id: product.id, name: product.name }, amountPerDay, unit } : {}),
  };
}
