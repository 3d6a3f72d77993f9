import { middleOf } from './five-minute-median.ts';

export type ProbeValue = { probe: string; value: number };

/**
 * Probes of one metric in one water that do not say the same.
 *
 * @param values  the present calm value of each probe, same unit
 * @returns the widest difference and the probe that lies furthest from the middle (with two, nobody knows which is wrong:
 *          the first); undefined for fewer than two
 */
export function disagreement(values: readonly ProbeValue[]): { difference: number; odd: string } | undefined {
  const middle = middleOf(values.map(({ value }) => value));
  if (middle === undefined || values.length < 2) return undefined;
  let odd = values[0]!;
  let low = odd.value;
  let high = odd.value;
  for (const one of values) {
    if (Math.abs(one.value - middle) > Math.abs(odd.value - middle)) odd = one;
    low = Math.min(low, one.value);
    high = Math.max(high, one.value);
  }
  return { difference: high - low, odd: odd.probe };
}
