import { z } from 'zod';
import { metrics } from '#rules/quantity/metric.ts';
import { marksOf } from './marks.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { plotOf } from './plot.ts';
import { sendProblem } from './problem.ts';
import { mainSeries } from './room-view.ts';

const hourMs = 3_600_000;
/** Beyond this span hours are fine enough for a screen, and minutes too many to read. */
const minutesUpToMs = 3 * 24 * hourMs;

export function addSeriesRoutes(server: TypedServer, parts: HttpParts): void {
  server.get(
    '/api/series/:system/:metric',
    {
      schema: {
        summary: 'A metric over time, as the least and greatest value of each of about `points` intervals',
        tags: ['room'],
        params: z.object({ system: z.string(), metric: z.enum(metrics) }),
        querystring: z.object({
          from: z.iso.datetime({ offset: true }),
          to: z.iso.datetime({ offset: true }),
          points: z.coerce.number().int().min(10).max(4000).default(400),
          probe: z.string().optional(),
        }),
      },
    },
    (request, reply) => {
      const { system, metric } = request.params;
      const fromMs = Date.parse(request.query.from);
      const toMs = Date.parse(request.query.to);
      const series =
        request.query.probe === undefined
          ? mainSeries(parts.config, parts.store.series(), system, metric)
          : { system, metric, probe: request.query.probe };
      if (!(toMs > fromMs)) {
        return sendProblem(reply, {
          type: 'urn:brinekeep:problem:invalid',
          title: 'The request is not valid',
          status: 400,
          detail: '`to` must be after `from`',
        });
      }
      if (series === undefined) {
        return sendProblem(reply, {
          type: 'about:blank',
          title: 'No such series',
          status: 404,
          detail: `no ${metric} of "${system}" so far`,
        });
      }
      const resolution = toMs - fromMs > minutesUpToMs ? 'hour' : 'minute';
      const stepMs = Math.max(resolution === 'hour' ? hourMs : 60_000, (toMs - fromMs) / request.query.points);
      const points = plotOf(parts.store.summaries(series, resolution, fromMs, toMs), stepMs);
      return { probe: series.probe, stepMs, points };
    },
  );

  server.get(
    '/api/marks/:system',
    {
      schema: {
        summary:
          'What happened to a system in a span of time: tests, doses, water changes, calibrations, arrivals, alarms',
        tags: ['room'],
        params: z.object({ system: z.string() }),
        querystring: z.object({ from: z.iso.datetime({ offset: true }), to: z.iso.datetime({ offset: true }) }),
      },
    },
    (request, reply) => {
      const system = parts.config.systems.find(({ id }) => id === request.params.system);
      if (system !== undefined)
        return marksOf(parts.store, system, Date.parse(request.query.from), Date.parse(request.query.to));
      return sendProblem(reply, {
        type: 'about:blank',
        title: 'No such system',
        status: 404,
        detail: `no system "${request.params.system}"`,
      });
    },
  );
}
