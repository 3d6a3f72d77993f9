import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import type { Analyte } from '#rules/quantity/metric.ts';
import { commonSalinity } from '#rules/seawater/at-salinity.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';

/** A salinity further away than this does not speak for the water of a test: top-off and evaporation move it by tenths a week. */
const probeWithinMs = 1.5 * dayMs;
const testWithinMs = 3 * dayMs;
/** Outside this it is a wrong reading, or no water of a reef. */
const usable = { low: 20, high: 45 };

/** A value at salinity 35 is said in passing only where it is so far from the raw one: half a unit of salinity. */
export const leastDifference35 = 0.014;

export type SalinityThen = (timeMs: number) => number | undefined;

/** What moves with the salt, and is compared over time. */
const movesWithSalt: ReadonlySet<Analyte> = new Set<DemandAnalyte>(['alkalinity', 'calcium', 'magnesium']);

/**
 * The salinity of a system's water at times of the past: the mean of the day (UTC) by a probe, else the nearest test.
 *
 * @param tests  of the system, any analyte, any order
 * @returns a function of UTC ms; undefined where nothing was measured near enough
 */
export function pastSalinity(
  store: Pick<Store, 'series' | 'summaries'>,
  system: string,
  tests: readonly { timeMs: number; body: { analyte: Analyte; value: number } }[],
  fromMs: number,
  toMs: number,
): SalinityThen {
  const days = store
    .series()
    .filter((series) => series.system === system && series.metric === 'salinity')
    .flatMap((series) => store.summaries(series, 'day', fromMs - dayMs, toMs + dayMs))
    .map(({ startMs, mean }) => ({ timeMs: startMs + dayMs / 2, value: mean }));
  const tested = tests
    .filter(({ body }) => body.analyte === 'salinity')
    .map(({ timeMs, body }) => ({ timeMs, value: body.value }));
  return (timeMs) => {
    const found = nearest(days, timeMs, probeWithinMs) ?? nearest(tested, timeMs, testWithinMs);
    return found !== undefined && found >= usable.low && found <= usable.high ? found : undefined;
  };
}

function nearest(
  facts: readonly { timeMs: number; value: number }[],
  timeMs: number,
  withinMs: number,
): number | undefined {
  let best: { apartMs: number; value: number } | undefined;
  for (const fact of facts) {
    const apartMs = Math.abs(fact.timeMs - timeMs);
    if (apartMs <= withinMs && apartMs < (best?.apartMs ?? Number.POSITIVE_INFINITY))
      best = { apartMs, value: fact.value };
  }
  return best?.value;
}

/** The factor that brings a test of an analyte to the common salinity; undefined for what does not move with the salt, or without a salinity. */
export function factorToCommonSalinity(analyte: Analyte, timeMs: number, then: SalinityThen): number | undefined {
  if (!movesWithSalt.has(analyte)) return undefined;
  const salinity = then(timeMs);
  return salinity === undefined ? undefined : commonSalinity / salinity;
}
