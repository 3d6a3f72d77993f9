import type { Store, Summary } from '#adapters/ports/store.ts';
import type { Series } from '#rules/quality/reading.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { type Level, type Outlook, outlookOfProbe } from './outlook.ts';
import { type PlotPoint, plotOf } from './plot.ts';

const minuteMs = 60_000;
const dayMs = 86_400_000;
const recentBucketMs = 10 * minuteMs;
/** A picture of a day moves by less than a pixel in this time, and reading the day of every probe anew is what costs. */
const freshForMs = 30_000;

export type DayPlot = { day: PlotPoint[]; outlook: Outlook | null };
type Kept = DayPlot & { madeMs: number };

export type DayPlots = {
  /** @param bucketMs  width of one step of the ribbon */
  of(series: Series, band: { low: number; high: number } | null, bucketMs: number, nowMs: number): DayPlot;
};

/** The last day of every stream with its outlook; kept for half a minute, one of each stream, so that memory is bounded. */
export function createDayPlots(store: Pick<Store, 'summaries'>): DayPlots {
  const kept = new Map<string, Kept>();
  return {
    of(series, band, bucketMs, nowMs) {
      const key = `${series.system}\0${series.metric}\0${series.probe}`;
      const known = kept.get(key);
      if (known !== undefined && nowMs >= known.madeMs && nowMs - known.madeMs < freshForMs) return known;
      const shown = rounded(metricFacts[series.metric].decimals + 1);
      const minutes = store.summaries(series, 'minute', nowMs - dayMs, nowMs + 1);
      const hours = meansOf(store.summaries(series, 'hour', nowMs - 2 * dayMs, nowMs + 1), 60 * minuteMs);
      const made: Kept = {
        madeMs: nowMs,
        day: plotOf(minutes, bucketMs).map((point) => ({ ...point, min: shown(point.min), max: shown(point.max) })),
        outlook: withShown(outlookOfProbe(meansOf(minutes, recentBucketMs), hours, band, nowMs), shown),
      };
      kept.set(key, made);
      return made;
    },
  };
}

/** One digit more than a person is shown: the rest would double what a room of many systems sends. */
function rounded(decimals: number): (value: number) => number {
  const factor = 10 ** decimals;
  return (value) => Math.round(value * factor) / factor;
}

function withShown(outlook: Outlook | null, shown: (value: number) => number): Outlook | null {
  if (outlook === null) return null;
  const points = outlook.points.map(({ time, level, low, high }) => ({
    ...{ time, level: shown(level), low: shown(low), high: shown(high) },
  }));
  return { ...outlook, points };
}

/** Means of equal intervals, dated at the middle of what they hold. */
function meansOf(summaries: readonly Summary[], widthMs: number): Level[] {
  const buckets = new Map<number, { sum: number; count: number; times: number; rows: number }>();
  for (const { startMs, mean, count } of summaries) {
    if (!Number.isFinite(mean) || count === 0) continue;
    const start = Math.floor(startMs / widthMs);
    const bucket = buckets.get(start) ?? { sum: 0, count: 0, times: 0, rows: 0 };
    bucket.sum += mean * count;
    bucket.count += count;
    bucket.times += startMs;
    bucket.rows += 1;
    buckets.set(start, bucket);
  }
  const halfRowMs = widthMs === 60 * minuteMs ? 30 * minuteMs : minuteMs / 2;
  return [...buckets.values()].map(({ sum, count, times, rows }) => ({
    time: times / rows + halfRowMs,
    value: sum / count,
  }));
}
