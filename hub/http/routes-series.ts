import * as z from 'zod';
import { metrics } from '#rules/quantity/metric.ts';
import { mainSeries } from '../model/main-series.ts';
import { createBandHistory } from './band-history.ts';
import { marksOf } from './marks.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { plotOf } from './plot.ts';
import { sendProblem } from './problem.ts';

const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
/** Beyond this span hours are fine enough for a screen, and minutes too many to read. */
const minutesUpToMs = 3 * 24 * hourMs;
/** Single readings beyond this are a smear on a screen, and a wide span of them is long to read. */
const mostReadings = 6000;
const readingsUpToMs = 3 * 24 * hourMs;

const span = { from: z.iso.datetime({ offset: true }), to: z.iso.datetime({ offset: true }) };

export function addSeriesRoutes(server: TypedServer, parts: HttpParts): void {
  const bands = createBandHistory(parts.config, parts.store, () => parts.clock.nowMs());

  server.get(
    '/api/series/:system/:metric',
    {
      schema: {
        summary: 'A metric over time, as the least and greatest value of each of about `points` intervals',
        tags: ['room'],
        params: z.object({ system: z.string(), metric: z.enum(metrics) }),
        querystring: z.object({
          ...span,
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
      const wantedMs = (toMs - fromMs) / request.query.points;
      const resolution = wantedMs >= 2 * dayMs ? 'day' : toMs - fromMs > minutesUpToMs ? 'hour' : 'minute';
      const stepMs = Math.max(resolution === 'minute' ? 60_000 : hourMs, wantedMs);
      const points = plotOf(parts.store.summaries(series, resolution, fromMs, toMs), stepMs);
      return { probe: series.probe, stepMs, points };
    },
  );

  server.get(
    '/api/readings/:system/:metric',
    {
      schema: {
        summary: `Single readings with their flags, when there are at most ${mostReadings} of them in at most three days; else none, and why`,
        tags: ['room'],
        params: z.object({ system: z.string(), metric: z.enum(metrics) }),
        querystring: z.object({ ...span, probe: z.string().optional() }),
      },
    },
    (request, reply) => {
      const { system, metric } = request.params;
      const [fromMs, toMs] = [Date.parse(request.query.from), Date.parse(request.query.to)];
      const { probe } = request.query;
      const series =
        probe === undefined
          ? mainSeries(parts.config, parts.store.series(), system, metric)
          : { system, metric, probe };
      if (series === undefined) {
        return sendProblem(reply, {
          ...{ type: 'about:blank', title: 'No such series', status: 404 },
          detail: `no ${metric} of "${system}" so far`,
        });
      }
      if (!(toMs > fromMs) || toMs - fromMs > readingsUpToMs)
        return { probe: series.probe, most: mostReadings, isTooMany: true, readings: [] };
      const readings = parts.store.readings(series, fromMs, toMs, mostReadings + 1);
      const isTooMany = readings.length > mostReadings;
      return {
        ...{ probe: series.probe, most: mostReadings, isTooMany },
        readings: isTooMany ? [] : readings.map(({ timeMs, value, flag }) => ({ time: timeMs, value, flag })),
      };
    },
  );

  server.get(
    '/api/bands/:system/:metric',
    {
      schema: {
        summary: 'The band of a metric as it was over a span of time; null edges where there was none',
        tags: ['room'],
        params: z.object({ system: z.string(), metric: z.enum(metrics) }),
        querystring: z.object(span),
      },
    },
    (request) => {
      const { system, metric } = request.params;
      return bands.of(system, metric, Date.parse(request.query.from), Date.parse(request.query.to));
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
        querystring: z.object(span),
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
