import * as z from 'zod';
import { metrics } from '#rules/quantity/metric.ts';
import type { Problem } from '../api/problem.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';

const tags = ['fleet'];
/** Finer than this, intervals of probes that speak every ten seconds are mostly empty. */
const leastStepMs = 10_000;
const longestMs = 3 * 366 * 86_400_000;

type HistoryFailure = 'no_database' | 'busy' | 'away' | 'refused' | 'unread';

const problemOf: Record<HistoryFailure, Pick<Problem, 'type' | 'title' | 'status'>> = {
  no_database: { type: 'urn:brinekeep:problem:no_database', title: 'No time-series database is set up', status: 409 },
  busy: { type: 'urn:brinekeep:problem:busy', title: 'Too many curves at once', status: 503 },
  away: { type: 'urn:brinekeep:problem:database_away', title: 'The time-series database does not answer', status: 504 },
  refused: { type: 'urn:brinekeep:problem:database_refused', title: 'The time-series database refuses', status: 502 },
  unread: {
    type: 'urn:brinekeep:problem:database_unread',
    title: 'The database answers what is no curve',
    status: 502,
  },
};

/** The other hubs of the fleet: what they say of themselves over the broker, and what they mirrored into the database. */
export function addFleetRoutes(server: TypedServer, parts: Pick<HttpParts, 'fleet' | 'clock' | 'sources'>): void {
  const { fleet } = parts;
  const link = () => parts.sources.edges().find(({ name }) => name === 'mqtt');

  server.get('/api/fleet', { schema: { summary: 'Every other hub at a glance, the worst first', tags } }, () => ({
    configured: fleet.isConfigured,
    time: parts.clock.nowMs(),
    link: { isUp: link()?.isUp ?? false, lastSuccessMs: link()?.lastSuccessMs ?? null },
    counts: fleet.counts(),
    hubs: fleet.tiles(),
  }));

  server.get(
    '/api/fleet/:hub',
    {
      schema: {
        summary: 'A hub with its systems, latest values and alarms. `hub` is its topic prefix, with / as %2F',
        tags,
        params: z.object({ hub: z.string().max(200) }),
      },
    },
    (request, reply) => fleet.detail(request.params.hub) ?? noSuchHub(reply, request.params.hub),
  );

  server.get(
    '/api/fleet/:hub/history',
    {
      schema: {
        summary:
          'A metric over time from the time-series database: least, mean and greatest of each of about `points` intervals',
        tags,
        params: z.object({ hub: z.string().max(200) }),
        querystring: z.object({
          system: z.string().min(1).max(60),
          metric: z.enum(metrics),
          from: z.iso.datetime({ offset: true }),
          to: z.iso.datetime({ offset: true }),
          points: z.coerce.number().int().min(10).max(2000).default(400),
        }),
      },
    },
    async (request, reply) => {
      const { hub } = request.params;
      const { system, metric, points } = request.query;
      const [fromMs, toMs] = [Date.parse(request.query.from), Date.parse(request.query.to)];
      if (fleet.detail(hub) === undefined) return noSuchHub(reply, hub);
      if (!(toMs > fromMs) || toMs - fromMs > longestMs)
        return sendProblem(reply, {
          ...{ type: 'urn:brinekeep:problem:invalid', title: 'The request is not valid', status: 400 },
          detail: '`to` must be after `from`, by at most three years',
        });
      const gone = new AbortController();
      reply.raw.once('close', () => gone.abort());
      const stepMs = Math.max(leastStepMs, Math.ceil((toMs - fromMs) / points / 1000) * 1000);
      const answer = await fleet.history({ hub, system, metric, fromMs, toMs, stepMs }, gone.signal);
      if (!answer.ok) return sendProblem(reply, { ...problemOf[answer.kind], detail: answer.detail });
      return {
        stepMs,
        curves: answer.curves.map(({ probe, points: own }) => ({
          probe,
          points: own.map(({ timeMs, min, mean, max, count, isDoubtful }) => ({
            ...{ time: timeMs, min, mean, max, count },
            ...(isDoubtful ? { doubtful: true } : {}),
          })),
        })),
      };
    },
  );
}

function noSuchHub(reply: Parameters<typeof sendProblem>[0], hub: string): ReturnType<typeof sendProblem> {
  return sendProblem(reply, {
    ...{ type: 'about:blank', title: 'No such hub', status: 404 },
    detail: `nothing was heard of a hub "${hub}"`,
  });
}
