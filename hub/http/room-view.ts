import type { EdgeState } from '#adapters/ports/edge.ts';
import type { KeptEntry, Store } from '#adapters/ports/store.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import type { Advice } from '#rules/dosing/advice-types.ts';
import type { Series } from '#rules/quality/reading.ts';
import { type Metric, metricFacts, metrics } from '#rules/quantity/metric.ts';
import type { Config, SystemConfig } from '../config/schema.ts';
import { type ShownUnit, shownUnit } from '../settings/shown-unit.ts';
import type { DayPlots } from './day-plots.ts';
import { type Outlook, outlookOfTests } from './outlook.ts';
import type { PlotPoint } from './plot.ts';

const dayMs = 86_400_000;
const plotBucketMs = 10 * 60_000;
/** In a room of many systems each picture is small, and all of them together shall still arrive at once. */
const smallPlotBucketMs = 30 * 60_000;
const mostWithFinePlots = 6;
const testsShownDays = 14;

/** One metric of a system as the page shows it. Values are in the metric's store unit, times UTC milliseconds. */
export type MetricView = {
  metric: Metric;
  label: string;
  unit: string;
  decimals: number;
  /** Set when the keeper reads it in another unit than the store's, in which all numbers here are. */
  shown: ShownUnit | null;
  probe: string | null;
  value: number | null;
  flag: string;
  why: string | null;
  time: number | null;
  band: { low: number; high: number } | null;
  /** The last day in steps of ten minutes; of half an hour in a room of many systems. */
  day: PlotPoint[];
  /** The two days to come; null while too little is known. */
  outlook: Outlook | null;
  tests: { id: number; time: number; value: number; sd: number | null }[];
};

export type SystemView = {
  id: string;
  name: string;
  volume_l: number;
  metrics: MetricView[];
  alarms: StandingAlarm[];
  advice: { analyte: string; advice: Advice }[];
  stocks: { id: string; name: string }[];
};

export type RoomView = {
  site: string;
  timezone: string;
  time: number;
  /** Set in the demo: the room, its keeper and its water are invented. */
  invented: boolean;
  systems: SystemView[];
  edges: EdgeState[];
};

export type RoomSources = {
  config: Config;
  store: Store;
  standing(nowMs: number): StandingAlarm[];
  advice(system: string): { analyte: string; advice: Advice }[];
  edges(): EdgeState[];
  /** Why the last reading of a series has no value, when it has none; the store keeps only numbers. */
  lastWhy(series: Series): { time: number; flag: string; why: string } | undefined;
  /** In which units the keeper reads the metrics. */
  units(): KeepersUnits;
  isInvented: boolean;
};

/** The stream that stands for a metric: of the first configured probe that has one, else the first the store knows. */
export function mainSeries(
  config: Config,
  known: readonly Series[],
  system: string,
  metric: Metric,
): Series | undefined {
  const candidates = known.filter((series) => series.system === system && series.metric === metric);
  const order = new Map(config.probes.map((probe, index) => [probe.id, index]));
  return candidates.sort((a, b) => (order.get(a.probe) ?? Infinity) - (order.get(b.probe) ?? Infinity))[0];
}

function testsOf(entries: readonly KeptEntry[], metric: Metric): MetricView['tests'] {
  return entries
    .filter((entry) => entry.body['analyte'] === metric)
    .map((entry) => ({
      id: entry.id,
      time: entry.timeMs,
      value: Number(entry.body['value']),
      sd: typeof entry.body['sd'] === 'number' ? entry.body['sd'] : null,
    }));
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
  const set = system.bands[metric];
  const band = set === undefined ? null : { low: set.low, high: set.high };
  const latest = series === undefined ? undefined : sources.store.latest(series);
  const nothing = series === undefined ? undefined : sources.lastWhy(series);
  const bucketMs = sources.config.systems.length > mostWithFinePlots ? smallPlotBucketMs : plotBucketMs;
  const plot = series === undefined ? undefined : plots.of(series, band, bucketMs, nowMs);
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
            why: latest === undefined ? 'nothing so far' : null,
          };
  return {
    metric,
    ...metricFacts[metric],
    shown: shownUnit(metric, sources.units()),
    probe: series?.probe ?? null,
    ...shown,
    band,
    day: plot?.day ?? [],
    outlook: series === undefined ? outlookOfTests(advice, band, nowMs) : (plot?.outlook ?? null),
    tests,
  };
}

function systemView(
  sources: RoomSources,
  system: SystemConfig,
  known: readonly Series[],
  alarms: readonly StandingAlarm[],
  plots: DayPlots,
  nowMs: number,
): SystemView {
  const entries = sources.store.journal({
    kind: 'test',
    system: system.id,
    fromMs: nowMs - testsShownDays * dayMs,
  });
  const views: MetricView[] = [];
  for (const metric of metrics) {
    const series = mainSeries(sources.config, known, system.id, metric);
    const tests = testsOf(entries, metric);
    if (series === undefined && tests.length === 0 && system.bands[metric] === undefined) continue;
    views.push(metricView(sources, system, metric, series, tests, plots, nowMs));
  }
  return {
    id: system.id,
    name: system.name,
    volume_l: system.volume_l,
    metrics: views,
    alarms: alarms.filter((alarm) => alarm.system === system.id),
    advice: sources.advice(system.id),
    stocks: system.stocks.map((stock) => ({ id: stock.id, name: stock.name })),
  };
}

/** Everything the first page shows, computed anew: the state is small, and a page that missed a change is wrong. */
export function roomView(sources: RoomSources, plots: DayPlots, nowMs: number): RoomView {
  const known = sources.store.series();
  const alarms = sources.standing(nowMs);
  return {
    site: sources.config.site.name,
    timezone: sources.config.site.timezone,
    time: nowMs,
    invented: sources.isInvented,
    systems: sources.config.systems.map((system) => systemView(sources, system, known, alarms, plots, nowMs)),
    edges: sources.edges(),
  };
}
