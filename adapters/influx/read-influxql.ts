import * as z from 'zod';
import type { HistoryAnswer, HistoryAsked } from '../ports/history.ts';
import type { InfluxTarget } from './ask-server.ts';
import type { HistoryRequest } from './history-request.ts';
import { mergeFlags } from './merge-flags.ts';

const columns = ['time', 'min', 'mean', 'max', 'count'] as const;

const answerSchema = z.object({
  results: z.array(
    z.object({
      error: z.string().optional(),
      partial: z.boolean().optional(),
      series: z
        .array(
          z.object({
            name: z.string(),
            tags: z.object({ probe: z.string(), flag: z.string() }).optional(),
            columns: z.array(z.string()),
            values: z.array(z.array(z.unknown())),
          }),
        )
        .optional(),
    }),
  ),
});

const rowSchema = z.tuple([z.number(), z.number(), z.number(), z.number(), z.number()]);

/** Text in single quotes. @source InfluxQL reference 1.8, strings: a backslash before a quote and before a backslash */
function quoted(text: string): string {
  return `'${text.replaceAll('\\', '\\\\').replaceAll("'", "\\'")}'`;
}

function selectOf({ hub, system, metric, fromMs, toMs, stepMs }: HistoryAsked): string {
  return (
    'SELECT min("value"), mean("value"), max("value"), count("value") ' +
    `FROM "${metric}" WHERE "hub" = ${quoted(hub)} AND "system" = ${quoted(system)} ` +
    `AND time >= ${fromMs}ms AND time < ${toMs}ms GROUP BY time(${stepMs}ms), "probe", "flag" fill(none)`
  );
}

/** `other_server` when the answer is to another question: VictoriaMetrics gives every query a list of databases. */
export type InfluxqlAnswer = HistoryAnswer | 'other_server';

/**
 * InfluxQL at /query, of InfluxDB 1 and, by the documented mapping of a bucket to a database of its name, of InfluxDB 2.
 *
 * @source InfluxDB OSS 1.8 documentation, "Explore data using InfluxQL" and /query; 2.x: "Query with InfluxQL"
 */
export async function readInfluxql(
  request: HistoryRequest,
  target: InfluxTarget,
  asked: HistoryAsked,
  signal: AbortSignal,
): Promise<InfluxqlAnswer> {
  const db = target.api === 'v1' ? target.database : target.bucket;
  const fetched = await request('/query', { db, epoch: 'ms', q: selectOf(asked) }, signal);
  if (!fetched.ok) return fetched;
  const read = answerSchema.safeParse(fetched.document);
  const [result] = read.success ? read.data.results : [];
  if (result === undefined) return { ok: false, kind: 'unread', detail: 'not the answer to a query' };
  if (result.error !== undefined) return { ok: false, kind: 'refused', detail: result.error.slice(0, 200) };
  const series = result.series ?? [];
  if (series.some(({ name }) => name === 'databases')) return 'other_server';
  const isWhole = series.every(({ columns: own }) => own.join() === columns.join()) && result.partial !== true;
  if (!isWhole)
    return { ok: false, kind: 'unread', detail: 'not the columns that were asked for, or a part of the rows' };
  return {
    ok: true,
    curves: mergeFlags(
      series.map(({ tags, values }) => ({
        probe: tags?.probe ?? '',
        flag: tags?.flag ?? '',
        // An interval without readings may come as nulls.
        points: values.flatMap((row) => {
          const sound = rowSchema.safeParse(row);
          if (!sound.success) return [];
          const [timeMs, min, mean, max, count] = sound.data;
          return [{ timeMs, min, mean, max, count }];
        }),
      })),
    ),
  };
}
