import type { BandSpan } from '../../../http/band-history.ts';
import type { Mark } from '../../../http/marks.ts';
import type { OutlookPoint } from '../../../http/outlook.ts';
import type { PlotPoint } from '../../../http/plot.ts';
import type { MetricView } from '../../../http/room-view.ts';
import { ask, slowlyWithinMs } from '../kit/ask.ts';

/** A span of time that a chart shows, UTC milliseconds. */
export type Span = { from: number; to: number };

/** One reading as it is kept; a failed one with its raw number. */
export type Single = { time: number; value: number; flag: string };

/** Another metric of the system on the same chart. */
export type Over = {
  metric: MetricView;
  stepMs: number;
  points: PlotPoint[];
  /** Its tests. */
  marks: Mark[];
  estimated: OutlookPoint[];
};

export type ChartData = {
  /** What was asked for: wider than what is shown, so that a small move needs no answer of the hub. */
  span: Span;
  /** Width of one interval of `points`. */
  stepMs: number;
  points: PlotPoint[];
  marks: Mark[];
  /** Level of a tested analyte between and after its tests, with its 95 % interval. */
  estimated: OutlookPoint[];
  /** What the system uses of it a day, with its 95 % interval; empty for what nobody doses. */
  used: OutlookPoint[];
  /** The band as it was, oldest first. */
  bands: BandSpan[];
  /** When single readings were asked for; `isTooMany` when the span holds more than the hub gives. */
  singles?: { readings: Single[]; isTooMany: boolean; most: number };
  over?: Over;
};

/** What is shown beyond the metric's own curve. */
export type Wanted = { isSingle: boolean; over: MetricView | undefined };

const estimatedMetrics = new Set(['alkalinity', 'calcium', 'magnesium']);
const mostPoints = 3000;

type Series = { points: PlotPoint[]; stepMs: number };
type Explanation = {
  history: { timeMs: number; level: number; levelSd: number; demandPerDay: number; demandSd: number }[];
  forecast: { points: { timeMs: number; level: number; low95: number; high95: number }[] } | null;
};

async function read<Answer>(path: string, signal: AbortSignal): Promise<Answer | undefined> {
  const told = await ask<Answer>(path, { stop: signal, withinMs: slowlyWithinMs });
  if (told.ok) return told.body;
  // A young metric has no series or no estimate yet.
  if (told.problem.status === 404) return undefined;
  throw new Error(told.problem.detail);
}

type Estimated = { level: OutlookPoint[]; used: OutlookPoint[] };

async function readEstimated(system: string, metric: string, signal: AbortSignal): Promise<Estimated> {
  if (!estimatedMetrics.has(metric)) return { level: [], used: [] };
  const found = await read<Explanation>(`estimates/${encodeURIComponent(system)}/${metric}`, signal);
  const history = found?.history ?? [];
  const past = history.map(({ timeMs, level, levelSd }) => ({
    ...{ time: timeMs, level, low: Math.max(0, level - 1.96 * levelSd), high: level + 1.96 * levelSd },
  }));
  const ahead = (found?.forecast?.points ?? []).map(({ timeMs, level, low95, high95 }) => ({
    // Less than nothing is dissolved in no water, however little is known.
    ...{ time: timeMs, level: Math.max(0, level), low: Math.max(0, low95), high: Math.max(0, high95) },
  }));
  const endMs = past.at(-1)?.time ?? 0;
  return {
    level: [...past, ...ahead.filter(({ time }) => time > endMs)],
    used: history.map(({ timeMs, demandPerDay, demandSd }) => ({
      ...{ time: timeMs, level: demandPerDay },
      ...{ low: demandPerDay - 1.96 * demandSd, high: demandPerDay + 1.96 * demandSd },
    })),
  };
}

/**
 * What a chart of a metric draws over a span and half as much to either side.
 *
 * @param pixels  width of the chart: about as many intervals are asked for
 */
export async function readChart(
  system: string,
  { metric, probe, band }: Pick<MetricView, 'metric' | 'probe' | 'band'>,
  shown: Span,
  pixels: number,
  { isSingle, over }: Wanted,
  signal: AbortSignal,
): Promise<ChartData> {
  const half = (shown.to - shown.from) / 2;
  const span = { from: Math.round(shown.from - half), to: Math.round(shown.to + half) };
  const asked = `from=${new Date(span.from).toISOString()}&to=${new Date(span.to).toISOString()}`;
  const points = Math.max(100, Math.min(mostPoints, Math.round(pixels * 2)));
  const place = (of: string) => `${encodeURIComponent(system)}/${encodeURIComponent(of)}`;
  // What only tests know has no series.
  const seriesOf = (of: Pick<MetricView, 'metric' | 'probe'>) =>
    of.probe === null ? undefined : read<Series>(`series/${place(of.metric)}?${asked}&points=${points}`, signal);
  const [series, marks, estimated, bands, singles, overSeries, overEstimated] = await Promise.all([
    seriesOf({ metric, probe }),
    read<Mark[]>(`marks/${encodeURIComponent(system)}?${asked}`, signal),
    readEstimated(system, metric, signal),
    read<BandSpan[]>(`bands/${place(metric)}?${asked}`, signal),
    isSingle && probe !== null
      ? read<NonNullable<ChartData['singles']>>(`readings/${place(metric)}?${asked}`, signal)
      : undefined,
    over === undefined ? undefined : seriesOf(over),
    over === undefined ? undefined : readEstimated(system, over.metric, signal),
  ]);
  return {
    span,
    stepMs: series?.stepMs ?? 60_000,
    points: series?.points ?? [],
    // Tests and alarms of other metrics belong to other charts; a dose or a water change may move anything.
    marks: (marks ?? []).filter((mark) => mark.metric === null || mark.metric === metric),
    estimated: estimated.level,
    used: estimated.used,
    bands: bands ?? (band === null ? [] : [{ ...span, ...band }]),
    ...(singles === undefined ? {} : { singles }),
    ...(over === undefined
      ? {}
      : {
          over: {
            ...{ metric: over, stepMs: overSeries?.stepMs ?? 60_000, points: overSeries?.points ?? [] },
            marks: (marks ?? []).filter((mark) => mark.kind === 'test' && mark.metric === over.metric),
            estimated: overEstimated?.level ?? [],
          },
        }),
  };
}

export function isWithin(shown: Span, known: Span): boolean {
  return shown.from >= known.from && shown.to <= known.to;
}
