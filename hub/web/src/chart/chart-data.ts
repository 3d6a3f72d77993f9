import { defined } from '#rules/plain-data/defined.ts';
import { isDemandAnalyte } from '#rules/trend/demand-facts.ts';
import type { AnswerOf, AskedOf, Route } from '../../../api/contract.ts';
import type { MetricView, OutlookPoint } from '../../../api/room.ts';
import type { BandSpan, Mark, PlotPoint, Singles } from '../../../api/series.ts';
import { askRoute, slowlyWithinMs } from '../kit/ask.ts';

/** A span of time that a chart shows, UTC milliseconds. */
export type Span = { from: number; to: number };

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
  /** When single readings were asked for. */
  singles?: Singles;
  over?: Over;
};

/** What is shown beyond the metric's own curve. */
export type Wanted = { isSingle: boolean; over: MetricView | undefined };

const mostPoints = 3000;

async function read<Name extends Route>(
  route: Name,
  asked: AskedOf<Name>,
  signal: AbortSignal,
): Promise<AnswerOf<Name> | undefined> {
  const outcome = await askRoute(route, asked, { stop: signal, withinMs: slowlyWithinMs });
  if (outcome.ok) return outcome.body;
  // A young metric has no series or no estimate yet.
  if (outcome.problem.status === 404) return undefined;
  throw new Error(outcome.problem.detail);
}

type Estimated = { level: OutlookPoint[]; used: OutlookPoint[] };

async function readEstimated(system: string, metric: string, signal: AbortSignal): Promise<Estimated> {
  if (!isDemandAnalyte(metric)) return { level: [], used: [] };
  const params = { system, analyte: metric };
  const found = await read('GET /api/estimates/:system/:analyte', { params }, signal);
  const history = found?.history ?? [];
  const past = history.map(({ timeMs, level, levelSd }) => ({
    time: timeMs,
    level,
    low: Math.max(0, level - 1.96 * levelSd),
    high: level + 1.96 * levelSd,
  }));
  const ahead = (found?.forecast?.points ?? []).map(({ timeMs, level, low95, high95 }) => ({
    // Less than nothing is dissolved in no water, however little is known.
    time: timeMs,
    level: Math.max(0, level),
    low: Math.max(0, low95),
    high: Math.max(0, high95),
  }));
  const endMs = past.at(-1)?.time ?? 0;
  return {
    level: [...past, ...ahead.filter(({ time }) => time > endMs)],
    used: history.map(({ timeMs, demandPerDay, demandSd }) => ({
      time: timeMs,
      level: demandPerDay,
      low: demandPerDay - 1.96 * demandSd,
      high: demandPerDay + 1.96 * demandSd,
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
  const query = { from: new Date(span.from).toISOString(), to: new Date(span.to).toISOString() };
  const points = Math.max(100, Math.min(mostPoints, Math.round(pixels * 2)));
  const params = { system, metric };
  // What only tests know has no series.
  const seriesOf = (of: Pick<MetricView, 'metric' | 'probe'>) =>
    of.probe === null
      ? undefined
      : read(
          'GET /api/series/:system/:metric',
          { params: { system, metric: of.metric }, query: { ...query, points } },
          signal,
        );
  const [series, marks, estimated, bands, singles, overSeries, overEstimated] = await Promise.all([
    seriesOf({ metric, probe }),
    read('GET /api/marks/:system', { params: { system }, query }, signal),
    readEstimated(system, metric, signal),
    read('GET /api/bands/:system/:metric', { params, query }, signal),
    isSingle && probe !== null ? read('GET /api/readings/:system/:metric', { params, query }, signal) : undefined,
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
    ...defined({ singles }),
    ...(over === undefined
      ? {}
      : {
          over: {
            metric: over,
            stepMs: overSeries?.stepMs ?? 60_000,
            points: overSeries?.points ?? [],
            marks: (marks ?? []).filter((mark) => mark.kind === 'test' && mark.metric === over.metric),
            estimated: overEstimated?.level ?? [],
          },
        }),
  };
}

export function isWithin(shown: Span, known: Span): boolean {
  return shown.from >= known.from && shown.to <= known.to;
}
