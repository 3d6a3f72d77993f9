import type { Store } from '#adapters/ports/store.ts';
import { hourMs, minuteMs } from '#rules/clock/durations.ts';
import { type MixedMetric, type MixedWater, mixedMetrics } from '#rules/mixing/mixed-water.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { readJournal } from '../../model/journal/journal.ts';

/** How old a probe's reading may be to speak for now. */
const probeAtMostMs = 30 * minuteMs;
/** How old a test may be; temperature moves within the hour, what corals use within days. */
const testAtMostMs: Partial<Record<Metric, number>> = {
  temperature: hourMs,
  ph: 12 * hourMs,
  salinity: 3 * 24 * hourMs,
};
/** What corals use moves within a week by less than a test tells. Common practice, no published source */
const otherTestAtMostMs = 7 * 24 * hourMs;

export type Fact = { value: number; timeMs: number; by: 'probe' | 'test' };

/** The freshest good value of a metric in a system's water, by probe or test; undefined when nothing is fresh enough. */
export function factNow(
  store: Pick<Store, 'series' | 'latest' | 'journal'>,
  system: string,
  metric: Metric,
  nowMs: number,
): Fact | undefined {
  const facts: Fact[] = [];
  for (const series of store.series()) {
    if (series.system !== system || series.metric !== metric) continue;
    const latest = store.latest(series);
    if (latest === undefined || latest.flag === 'fail' || latest.flag === 'missing') continue;
    if (nowMs - latest.timeMs <= probeAtMostMs) facts.push({ value: latest.value, timeMs: latest.timeMs, by: 'probe' });
  }
  const fromMs = nowMs - (testAtMostMs[metric] ?? otherTestAtMostMs);
  const tests = readJournal(store, { kind: 'test', system, fromMs, toMs: nowMs + 1, order: 'newest' });
  const test = tests.find(({ body }) => body.analyte === metric);
  if (test !== undefined) facts.push({ value: test.body.value, timeMs: test.timeMs, by: 'test' });
  return facts.sort((one, other) => other.timeMs - one.timeMs)[0];
}

/** What is known of a system's water now, as far as it mixes, and its pH. */
export function waterNow(
  store: Pick<Store, 'series' | 'latest' | 'journal'>,
  system: string,
  nowMs: number,
  metrics: readonly MixedMetric[] = mixedMetrics,
): MixedWater {
  const water: MixedWater = {};
  for (const metric of metrics) {
    const fact = factNow(store, system, metric, nowMs);
    if (fact !== undefined) water[metric] = fact.value;
  }
  return water;
}

/** The three that a coral feels at once. */
export function feltWater(
  store: Pick<Store, 'series' | 'latest' | 'journal'>,
  system: string,
  nowMs: number,
): { temperature?: number; salinity?: number; ph?: number } {
  const found: { temperature?: number; salinity?: number; ph?: number } = {};
  for (const metric of ['temperature', 'salinity', 'ph'] as const) {
    const fact = factNow(store, system, metric, nowMs);
    if (fact !== undefined) found[metric] = fact.value;
  }
  return found;
}
