import type { Store, Summary } from '#adapters/ports/store.ts';
import { hourMs } from '#rules/clock/durations.ts';
import type { Series } from '#rules/quality/reading.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import type { Dated } from '#rules/trend/day-course.ts';

export type HourStore = Pick<Store, 'series' | 'latest' | 'summaries'>;

/** Means of the sound hours of the probe that spoke last, at the middle of each hour, oldest first; with the probe's name. */
export function hoursOf(
  store: HourStore,
  system: string,
  metric: Metric,
  fromMs: number,
  toMs: number,
): { probe: string | undefined; hours: Dated[]; lows: Dated[] } {
  const series = newestSeries(store, system, metric);
  if (series === undefined) return { probe: undefined, hours: [], lows: [] };
  const sound = store.summaries(series, 'hour', fromMs, toMs).filter(isSound);
  const at = (of: (summary: Summary) => number) => (summary: Summary) => ({
    timeMs: summary.startMs + hourMs / 2,
    value: of(summary),
  });
  return { probe: series.probe, hours: sound.map(at(({ mean }) => mean)), lows: sound.map(at(({ min }) => min)) };
}

function newestSeries(store: HourStore, system: string, metric: Metric): Series | undefined {
  const spoke = (series: Series): number => store.latest(series)?.timeMs ?? Number.NEGATIVE_INFINITY;
  return store
    .series()
    .filter((series) => series.system === system && series.metric === metric)
    .sort((one, other) => spoke(other) - spoke(one))[0];
}

const isSound = ({ worst }: Summary): boolean => worst === 'pass' || worst === 'not_evaluated';
