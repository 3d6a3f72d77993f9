import { type Shows, scaleOfShown, signText } from '../kit/shown-number.ts';

/** Where a line of the scale stands, in the store's unit, and what it says in the keeper's. */
export type Tick = { value: number; text: string };

/** The next 1, 2 or 5 of a power of ten at or above. */
function roundStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  return power * (([1, 2, 5] as const).find((part) => part * power >= least * 0.999) ?? 10);
}

/** Round numbers of the keeper's unit between two values of the store's, at most so many steps apart. */
export function ticksOf(metric: Shows, low: number, high: number, mostSteps: number): Tick[] {
  const { toShown, toStore } = scaleOfShown(metric, low, high);
  const [from, to] = [toShown(low), toShown(high)];
  if (!(to > from)) return [];
  const step = roundStep((to - from) / mostSteps);
  const digits = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const ticks: Tick[] = [];
  for (let count = Math.ceil(from / step - 1e-9); count * step <= to + step * 1e-9; count += 1)
    ticks.push({ value: toStore(count * step), text: signText((count * step).toFixed(digits)) });
  return ticks;
}
