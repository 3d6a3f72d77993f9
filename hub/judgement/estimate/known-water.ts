import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import type { AdviceInput, KnownFact, KnownPh } from '#rules/dosing/advice-types.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import type { PhScale } from '#rules/seawater/ph-scale.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { type Entry, ofKind } from '../../model/journal/journal.ts';

export type WaterStore = Pick<Store, 'series' | 'latest' | 'summaries'>;
/** The scale that a pH probe reads on, by its name; probes that no configuration knows read on `nbs`. */
export type ScaleOf = (probe: string) => PhScale;

type Fact = KnownFact & { probe?: string };

/** The freshest of a probe's reading and a test; a failed reading is no fact, but it says that there is a probe. */
function factOf(
  store: WaterStore,
  system: SystemConfig,
  metric: Metric,
  entries: readonly Entry[],
  nowMs: number,
): Fact | undefined {
  const facts: Fact[] = [];
  const failed: Fact[] = [];
  for (const series of store.series()) {
    if (series.system !== system.id || series.metric !== metric) continue;
    const latest = store.latest(series);
    if (latest === undefined) continue;
    const fact = { value: latest.value, ageMs: nowMs - latest.timeMs, probe: series.probe };
    if (latest.flag === 'fail' || latest.flag === 'missing') failed.push({ ...fact, isSuspect: true });
    else facts.push({ ...fact, isSuspect: latest.flag === 'suspect' });
  }
  const test = ofKind(entries, 'test').findLast(({ body }) => body.analyte === metric);
  if (test !== undefined) facts.push({ value: test.body.value, ageMs: nowMs - test.timeMs });
  return facts.sort((a, b) => a.ageMs - b.ageMs)[0] ?? failed[0];
}

/** What is known of the water in which a dose would land. */
export function knownWater(
  store: WaterStore,
  system: SystemConfig,
  entries: readonly Entry[],
  scaleOf: ScaleOf,
  nowMs: number,
): AdviceInput['water'] {
  const water: AdviceInput['water'] = {};
  const names = {
    salinity: 'salinity',
    temperature_C: 'temperature',
    alkalinity_dKH: 'alkalinity',
    calcium_mg_L: 'calcium',
    magnesium_mg_L: 'magnesium',
  } as const;
  for (const [name, metric] of Object.entries(names) as [keyof typeof names, Metric][]) {
    const fact = factOf(store, system, metric, entries, nowMs);
    if (fact !== undefined) water[name] = fact;
  }
  const ph = factOf(store, system, 'ph', entries, nowMs);
  if (ph !== undefined) water.ph = withScale(store, system, ph, scaleOf, nowMs);
  return water;
}

function withScale(store: WaterStore, system: SystemConfig, ph: Fact, scaleOf: ScaleOf, nowMs: number): KnownPh {
  if (ph.probe === undefined) return { ...ph, scale: 'nbs' };
  const series = { system: system.id, metric: 'ph', probe: ph.probe } as const;
  const hours = store.summaries(series, 'hour', nowMs - dayMs, nowMs + 1);
  const sound = hours.filter(({ worst }) => worst === 'pass' || worst === 'not_evaluated').map(({ mean }) => mean);
  return {
    ...ph,
    scale: scaleOf(ph.probe),
    ...(sound.length === 0 ? {} : { highestOfDay: Math.max(...sound), lowestOfDay: Math.min(...sound) }),
  };
}
