import type { EdgeState } from '#adapters/ports/edge.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import type { Maintenance } from '#rules/bands/room-state.ts';
import type { Silence } from '#rules/bands/silence-of.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { dayMs } from '#rules/clock/durations.ts';
import type { Advice, AdviceAnalyte } from '#rules/dosing/advice-types.ts';
import type { Series } from '#rules/quality/reading.ts';
import { type Metric, metricFacts, metrics } from '#rules/quantity/metric.ts';
import type { MetricView, RoomView, SystemView } from '../../api/room.ts';
import type { DeclinedAdvice } from '../../judgement/estimate/declined-advice.ts';
import { plansOf } from '../../judgement/estimate/standing-plan.ts';
import type { Cause } from '../../model/answers/health-schema.ts';
import { tellingName } from '../../model/config/probe-name.ts';
import type { Config, SystemConfig } from '../../model/config/schema.ts';
import { type Entry, readJournal } from '../../model/journal/journal.ts';
import { shownUnit } from '../../model/settings/shown-unit.ts';
import type { DayPlots } from './day-plots.ts';
import { outlookOfTests } from './outlook.ts';

const plotBucketMs = 10 * 60_000;
/** In a room of many systems each picture is small, and all of them together shall still arrive at once. */
const smallPlotBucketMs = 30 * 60_000;
const mostWithFinePlots = 6;
const testsShownDays = 14;

export type RoomSources = {
  config: Config;
  store: Store;
  standing(nowMs: number): StandingAlarm[];
  silence(series: Series, nowMs: number): Silence;
  maintenance(nowMs: number): Maintenance[];
  advice(system: string): { analyte: AdviceAnalyte; advice: Advice }[];
  edges(): EdgeState[];
  causes(): Cause[];
  /** Why the last reading of a series has no value, when it has none; the store keeps only numbers. */
  lastWhy(series: Series): { time: number; flag: string; why: string } | undefined;
  /** In which units the keeper reads the metrics. */
  units(): KeepersUnits;
  isInvented: boolean;
};

function testsOf(entries: readonly Entry<'test'>[], metric: Metric): MetricView['tests'] {
  return entries
    .filter((entry) => entry.body.analyte === metric)
    .map((entry) => ({
      id: entry.id,
      time: entry.timeMs,
      value: entry.body.value,
      sd: entry.body.sd ?? null,
    }));
}

function bandOf(system: SystemConfig, metric: Metric): MetricView['band'] {
  const set = system.bands[metric];
  return set === undefined ? null : { low: set.low, high: set.high };
}

function plotBucketOf(config: Config): number {
  return config.systems.length > mostWithFinePlots ? smallPlotBucketMs : plotBucketMs;
}

function metricView(
  sources: RoomSources,
  system: SystemConfig,
  metric: Metric,
  series: Series | undefined,
  tests: MetricView['tests'],
  plots: DayPlots,
  nowMs: number,
): MetricView {
  const band = bandOf(system, metric);
  const latest = series === undefined ? undefined : sources.store.latest(series);
  const nothing = series === undefined ? undefined : sources.lastWhy(series);
  const plot = series === undefined ? undefined : plots.of(series, band, plotBucketOf(sources.config), nowMs);
  const advice = sources.advice(system.id).find(({ analyte }) => analyte === metric)?.advice;
  const newestTest = tests.at(-1);
  // A metric that only tests know (calcium) shows its last test as its value.
  const shown =
    latest === undefined && newestTest !== undefined
      ? { time: newestTest.time, value: newestTest.value, flag: 'pass', why: null }
      : nothing !== undefined && (latest === undefined || nothing.time >= latest.timeMs)
        ? { time: nothing.time, value: null, flag: nothing.flag, why: nothing.why }
        : {
            time: latest?.timeMs ?? null,
            value: latest?.flag === 'fail' ? null : (latest?.value ?? null),
            flag: latest?.flag ?? 'missing',
            why: latest === undefined ? (series === undefined ? 'no test yet' : 'no reading yet') : null,
          };
  return {
    metric,
    ...metricFacts[metric],
    shown: shownUnit(metric, sources.units()),
    probe: series?.probe ?? null,
    ...shown,
    silentAfterMs: series === undefined ? null : sources.silence(series, nowMs).allowedMs,
    band,
    day: plot?.day ?? [],
    outlook: series === undefined ? outlookOfTests(advice, band, nowMs) : (plot?.outlook ?? null),
    tests,
  };
}

/** What a view of the whole room looks up once and not for each system. */
type Once = {
  main: ReadonlyMap<string, Series>;
  tests: ReadonlyMap<string, Entry<'test'>[]>;
  plans: ReadonlyMap<string, Entry<'plan'>[]>;
  alarms: readonly StandingAlarm[];
  maintenance: readonly Maintenance[];
};

/** The stream that stands for each metric of each system, by `system metric`, as `mainSeries` finds it. */
function mainSeriesOf(config: Config, known: readonly Series[]): Map<string, Series> {
  const order = new Map(config.probes.map((probe, index) => [probe.id, index]));
  const place = ({ probe }: Series) => order.get(probe) ?? Infinity;
  const main = new Map<string, Series>();
  for (const series of known) {
    const key = `${series.system} ${series.metric}`;
    const before = main.get(key);
    if (before === undefined || place(series) < place(before)) main.set(key, series);
  }
  return main;
}

/** The journal finds entries by kind and time: one question for all systems reads no more rows than one for a single one. */
function bySystem<Each extends Entry>(entries: readonly Each[]): Map<string, Each[]> {
  const found = new Map<string, Each[]>();
  for (const entry of entries) {
    const own = found.get(entry.system);
    if (own === undefined) found.set(entry.system, [entry]);
    else own.push(entry);
  }
  return found;
}

function systemView(parts: RoomParts, system: SystemConfig, once: Once, nowMs: number): SystemView {
  const { sources, plots } = parts;
  const entries = once.tests.get(system.id) ?? [];
  const views: MetricView[] = [];
  for (const metric of metrics) {
    const series = once.main.get(`${system.id} ${metric}`);
    const tests = testsOf(entries, metric);
    if (series === undefined && tests.length === 0 && system.bands[metric] === undefined) continue;
    views.push(metricView(sources, system, metric, series, tests, plots, nowMs));
  }
  const isHere = (each: { system: string }) => each.system === system.id;
  return {
    id: system.id,
    name: system.name,
    volume_l: system.volume_l,
    metrics: views,
    alarms: once.alarms.filter(isHere),
    advice: sources.advice(system.id).map(({ analyte, advice }) => ({
      analyte,
      advice,
      declined: parts.declined.of(system.id, analyte, advice) ?? null,
    })),
    stocks: system.stocks.map((stock) => ({ id: stock.id, name: stock.name })),
    plans: plansOf(system, once.plans.get(system.id) ?? [], nowMs),
    maintenance: once.maintenance.filter(isHere),
    probes: sources.config.probes.filter(isHere).map(({ id, metric }) => ({
      id,
      metric,
      name: tellingName(sources.config, system.id, id) ?? null,
    })),
  };
}

export type RoomParts = { sources: RoomSources; plots: DayPlots; declined: DeclinedAdvice };

/** Everything the first page shows, computed again: the state is small, and a page that missed a change is wrong. */
export function roomView(parts: RoomParts, nowMs: number): RoomView {
  const { config, store } = parts.sources;
  const once: Once = {
    main: mainSeriesOf(config, store.series()),
    tests: bySystem(readJournal(store, { kind: 'test', fromMs: nowMs - testsShownDays * dayMs })),
    plans: bySystem(readJournal(store, { kind: 'plan' })),
    alarms: parts.sources.standing(nowMs),
    maintenance: parts.sources.maintenance(nowMs),
  };
  return {
    site: config.site.name,
    timezone: config.site.timezone,
    time: nowMs,
    silenceAtMostHours: config.notices.silence_at_most_hours,
    invented: parts.sources.isInvented,
    systems: config.systems.map((system) => systemView(parts, system, once, nowMs)),
    edges: parts.sources.edges(),
    causes: parts.sources.causes(),
  };
}

/** Makes pictures before anybody asks for them: first those that are not there yet, then those that grow old. */
export function makePlots({ sources, plots }: RoomParts, nowMs: number, mostMs: number): void {
  const startMs = performance.now();
  const main = mainSeriesOf(sources.config, sources.store.series());
  for (const system of sources.config.systems) {
    for (const metric of metrics) {
      const series = main.get(`${system.id} ${metric}`);
      if (series === undefined || plots.has(series)) continue;
      if (performance.now() - startMs > mostMs) return;
      plots.of(series, bandOf(system, metric), plotBucketOf(sources.config), nowMs);
    }
  }
  plots.refresh(nowMs, mostMs);
}
