import type { Store, Summary } from '#adapters/ports/store.ts';
import { dayMs, hourMs, minuteMs } from '#rules/clock/durations.ts';
import type { Series } from '#rules/quality/reading.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import type { Outlook } from '../../api/room.ts';
import type { PlotPoint } from '../../api/series.ts';
import { type Level, outlookOfProbe, trendHours } from './outlook.ts';
import { plotOf } from './plot.ts';

const recentBucketMs = 10 * minuteMs;
/** A picture of a day moves by less than a pixel in this time. */
const freshForMs = 30_000;
/**
 * The whole day is read again so often: what came late, or was calibrated again, lies further back than what is read in
 * between. Spread over the streams, so that never all of them are read at once.
 */
const wholeEveryMs = 10 * minuteMs;
const wholeSpreadMs = 5 * minuteMs;
/** What nobody has asked for in so long is made again now and then only. */
const quietAfterMs = 10 * minuteMs;
const quietForMs = 5 * minuteMs;

export type DayPlot = { day: PlotPoint[]; outlook: Outlook | null };
type Band = { low: number; high: number } | null;

/** Summed values of one interval, and of the times of what it holds. */
type Bucket = { sum: number; count: number; times: number; rows: number };

type Kept = DayPlot & {
  series: Series;
  band: Band;
  bucketMs: number;
  madeMs: number;
  wholeMs: number;
  askedMs: number;
  /** Unrounded, oldest first. */
  points: PlotPoint[];
  recent: Map<number, Bucket>;
  hours: Map<number, Bucket>;
};

export type DayPlots = {
  /** @param bucketMs  width of one step of the ribbon */
  of(series: Series, band: Band, bucketMs: number, nowMs: number): DayPlot;
  has(series: Series): boolean;
  /** Makes again what will soon be too old to be shown, the oldest first, for at most about so long; for quiet moments. */
  refresh(nowMs: number, mostMs: number): void;
};

/**
 * The last day of every stream with its outlook, kept for half a minute. What is made again reads only the minutes since the
 * last time: the summaries of a day of each stream were most of the cost of the first view.
 */
export function createDayPlots(store: Pick<Store, 'summaries'>): DayPlots {
  const kept = new Map<string, Kept>();

  function made(series: Series, band: Band, bucketMs: number, nowMs: number, before: Kept | undefined): Kept {
    const isUsable =
      before !== undefined &&
      before.bucketMs === bucketMs &&
      nowMs >= before.madeMs &&
      nowMs - before.wholeMs < wholeEveryMs + spreadOf(series);
    const old = isUsable ? before : undefined;
    // From the beginning of the interval that was not whole then, and of the hour, which every interval divides or fills.
    const readMs = old === undefined ? nowMs - dayMs : Math.floor(old.madeMs / hourMs) * hourMs;
    const minutes = store.summaries(series, 'minute', readMs, nowMs + 1);
    // Whole intervals from the first on, so that a picture that was carried on is the one that is made from nothing.
    const oldest = {
      recent: begun(nowMs - trendHours * hourMs, recentBucketMs),
      hours: begun(nowMs - 2 * dayMs, hourMs),
    };
    const hours = store.summaries(series, 'hour', old === undefined ? oldest.hours : readMs, nowMs + 1);
    const sums = {
      points: [
        ...(old?.points ?? []).filter(({ time }) => time < readMs && time >= nowMs - dayMs - bucketMs),
        ...plotOf(minutes, bucketMs),
      ],
      recent: extended(old?.recent, minutes, recentBucketMs, readMs, oldest.recent),
      hours: extended(old?.hours, hours, hourMs, readMs, oldest.hours),
    };
    const shown = rounded(metricFacts[series.metric].decimals + 1);
    const outlook = outlookOfProbe(levelsOf(sums.recent, recentBucketMs), levelsOf(sums.hours, hourMs), band, nowMs);
    return {
      series,
      band,
      bucketMs,
      madeMs: nowMs,
      askedMs: before?.askedMs ?? nowMs,
      ...sums,
      wholeMs: old?.wholeMs ?? nowMs,
      day: sums.points.map((point) => ({ ...point, min: shown(point.min), max: shown(point.max) })),
      outlook: withShown(outlook, shown),
    };
  }

  function isFresh({ madeMs }: Kept, nowMs: number): boolean {
    return nowMs >= madeMs && nowMs - madeMs < freshForMs;
  }

  return {
    of(series, band, bucketMs, nowMs) {
      const key = keyOf(series);
      const known = kept.get(key);
      const isSame = known?.band?.low === band?.low && known?.band?.high === band?.high;
      if (known !== undefined && isSame && known.bucketMs === bucketMs && isFresh(known, nowMs)) {
        known.askedMs = nowMs;
        return known;
      }
      const next = made(series, band, bucketMs, nowMs, known);
      next.askedMs = nowMs;
      kept.set(key, next);
      return next;
    },
    has: (series) => kept.has(keyOf(series)),
    refresh(nowMs, mostMs) {
      const startMs = performance.now();
      for (const [key, each] of [...kept].sort(([, a], [, b]) => a.madeMs - b.madeMs)) {
        if (performance.now() - startMs > mostMs) return;
        const oldMs = nowMs - each.askedMs > quietAfterMs ? quietForMs : freshForMs / 2;
        if (nowMs - each.madeMs > oldMs) kept.set(key, made(each.series, each.band, each.bucketMs, nowMs, each));
      }
    },
  };
}

function keyOf({ system, metric, probe }: Series): string {
  return `${system}\0${metric}\0${probe}`;
}

/** From 0 to `wholeSpreadMs`, always the same for a stream. */
function spreadOf({ system, metric, probe }: Series): number {
  let hash = 0;
  for (const letter of `${system} ${metric} ${probe}`) hash = (hash * 31 + (letter.codePointAt(0) ?? 0)) % 1009;
  return (hash / 1009) * wholeSpreadMs;
}

/** One digit more than a person is shown: the rest would double what a room of many systems sends. */
function rounded(decimals: number): (value: number) => number {
  const factor = 10 ** decimals;
  return (value) => Math.round(value * factor) / factor;
}

function withShown(outlook: Outlook | null, shown: (value: number) => number): Outlook | null {
  if (outlook === null) return null;
  const points = outlook.points.map(({ time, level, low, high }) => ({
    time,
    level: shown(level),
    low: shown(low),
    high: shown(high),
  }));
  return { ...outlook, points };
}

/** When the interval of a moment began. */
function begun(timeMs: number, widthMs: number): number {
  return Math.floor(timeMs / widthMs) * widthMs;
}

/** The intervals before `readMs` as they were, and what was read since; without those that ended before `oldestMs`. */
function extended(
  old: ReadonlyMap<number, Bucket> | undefined,
  summaries: readonly Summary[],
  widthMs: number,
  readMs: number,
  oldestMs: number,
): Map<number, Bucket> {
  const buckets = new Map<number, Bucket>();
  for (const [start, bucket] of old ?? [])
    if (start * widthMs < readMs && (start + 1) * widthMs > oldestMs) buckets.set(start, bucket);
  for (const { startMs, mean, count } of summaries) {
    if (!Number.isFinite(mean) || count === 0 || startMs < oldestMs) continue;
    const start = Math.floor(startMs / widthMs);
    const bucket = buckets.get(start) ?? { sum: 0, count: 0, times: 0, rows: 0 };
    bucket.sum += mean * count;
    bucket.count += count;
    bucket.times += startMs;
    bucket.rows += 1;
    buckets.set(start, bucket);
  }
  return buckets;
}

/** Means of equal intervals, dated at the middle of what they hold. */
function levelsOf(buckets: ReadonlyMap<number, Bucket>, widthMs: number): Level[] {
  const halfRowMs = widthMs === hourMs ? hourMs / 2 : minuteMs / 2;
  return [...buckets.values()].map(({ sum, count, times, rows }) => ({
    time: times / rows + halfRowMs,
    value: sum / count,
  }));
}
