import * as z from 'zod';
import type { HistoryAnswer, HistoryAsked } from '../ports/history.ts';
import type { HistoryRequest } from './history-request.ts';
import { type FlaggedPoint, mergeFlags } from './merge-flags.ts';

const answerSchema = z.object({
  status: z.literal('success'),
  data: z.object({
    resultType: z.literal('matrix'),
    result: z.array(
      z.object({
        metric: z.object({ probe: z.string(), flag: z.string(), rollup: z.string() }),
        values: z.array(z.tuple([z.number(), z.string()])),
      }),
    ),
  }),
});

/** Text in double quotes, as JSON and MetricsQL write it alike. */
const quoted = (text: string) => JSON.stringify(text);

/**
 * MetricsQL, of VictoriaMetrics. A field `value` of line protocol stands there as `<measurement>_value`.
 *
 * A rollup looks at (t - step, t]: with t a millisecond before the next interval it is that interval, whole.
 *
 * @source VictoriaMetrics documentation, "MetricsQL", rollup and count_over_time
 */
export async function readMetricsql(
  request: HistoryRequest,
  database: string,
  asked: HistoryAsked,
  signal: AbortSignal,
): Promise<HistoryAnswer> {
  const { hub, system, metric, stepMs } = asked;
  const db = database === '' ? '' : `db=${quoted(database)},`;
  const window = `${metric}_value{${db}hub=${quoted(hub)},system=${quoted(system)}}[${stepMs}ms]`;
  const firstMs = Math.floor(asked.fromMs / stepMs) * stepMs + stepMs - 1;
  const lastMs = Math.ceil(asked.toMs / stepMs) * stepMs - 1;
  const query = {
    query: `(rollup(${window}), label_set(count_over_time(${window}), "rollup", "count"))`,
    start: String(firstMs / 1000),
    end: String(lastMs / 1000),
    step: `${stepMs}ms`,
    // With its cache it moves the start of the intervals.
    nocache: '1',
  };
  const fetched = await request('/api/v1/query_range', query, signal);
  if (!fetched.ok) return fetched;
  const read = answerSchema.safeParse(fetched.document);
  if (!read.success) return { ok: false, kind: 'unread', detail: 'not the answer to a query of a range' };
  const parts = new Map<string, { probe: string; flag: string; points: Map<number, Partial<FlaggedPoint>> }>();
  for (const { metric: labels, values } of read.data.data.result) {
    const name = { avg: 'mean', min: 'min', max: 'max', count: 'count' }[labels.rollup];
    if (name === undefined) continue;
    const key = `${labels.probe}\0${labels.flag}`;
    const part = parts.get(key) ?? { probe: labels.probe, flag: labels.flag, points: new Map() };
    parts.set(key, part);
    for (const [time_s, text] of values) {
      const timeMs = Math.round(time_s * 1000) + 1 - stepMs;
      const point = part.points.get(timeMs) ?? { timeMs };
      part.points.set(timeMs, { ...point, [name]: Number(text) });
    }
  }
  return {
    ok: true,
    curves: mergeFlags(
      [...parts.values()].map(({ points, ...rest }) => ({ ...rest, points: [...points.values()].filter(isWhole) })),
    ),
  };
}

function isWhole(point: Partial<FlaggedPoint>): point is FlaggedPoint {
  const { timeMs, min, mean, max, count } = point;
  return [timeMs, min, mean, max, count].every((value) => value !== undefined && Number.isFinite(value)) && count !== 0;
}
