import * as z from 'zod';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { priorities } from '#rules/bands/watched-room.ts';
import { metrics } from '#rules/quantity/metric.ts';
import { hubStates } from '#rules/verdicts/hub-state.ts';
import { valueStates } from '#rules/verdicts/value-state.ts';
import { metricFactsFields } from './metric-facts.ts';

const tags = ['fleet'];

const valueState = z.enum(valueStates);

const count = z.number();

/** Times are UTC milliseconds. */
const hubTile = z.object({
  hub: z.string(),
  name: z.string(),
  state: z.enum(hubStates),
  priority: z.enum(priorities).nullable(),
  lastHeardMs: z.number().nullable(),
  alarms: z.object({ high: count, medium: count, low: count }),
  acknowledged: count,
  first: z
    .object({ system: z.string(), message: z.string() })
    .nullable()
    .describe("the alarm that matters most, in the other hub's words"),
  systems: count,
  values: z.object({ inside: count, outside: count, stale: count, doubtful: count, unbanded: count }),
  marks: z
    .array(
      z.array(
        z.object({
          at: z
            .number()
            .nullable()
            .describe(
              '0 at the low edge of its band, 1 at the high one; half a band beyond either ends the scale; null without band or value',
            ),
          state: valueState,
        }),
      ),
    )
    .describe('one list for each system, in the order of its names'),
  isSelf: z.boolean().describe('the hub that gives this answer'),
});

const fleetMetric = z.object({
  ...metricFactsFields,
  probe: z.string(),
  value: z.number().nullable(),
  flag: z.string(),
  time: z.number(),
  band: z.object({ low: z.number(), high: z.number() }).nullable(),
  state: valueState,
});

const alarmStates = [
  ...['raised', 'cleared', 'acknowledged', 'shelved', 'unshelved', 'suppressed', 'unsuppressed', 'reraised'],
] as const satisfies AlarmEvent['state'][];

const fleetAlarm = z.object({
  alarm: z.string(),
  state: z.enum(alarmStates),
  priority: z.enum(priorities),
  message: z.string(),
  metric: z.enum(['', ...metrics]),
  time: z.number(),
  systemName: z.string(),
});

const hubDetail = hubTile.extend({
  timezone: z.string().nullable(),
  week: z.object({ week: z.string(), line: z.string() }).nullable(),
  details: z.array(
    z.object({
      id: z.string(),
      name: z.string(),
      metrics: z.array(fleetMetric),
      alarms: z.array(fleetAlarm),
    }),
  ),
  ownAlarms: z.array(fleetAlarm).describe('of no system: a serial port, the broker'),
});

const fleetView = z.object({
  configured: z.boolean().describe('false where the configuration names no other hubs'),
  time: z.number(),
  link: z.object({ isUp: z.boolean(), lastSuccessMs: z.number().nullable() }).describe('to the broker'),
  counts: z.object({
    messages: count,
    unreadable: count,
    hubs: count,
    systems: count,
    series: count,
    alarms: count,
    too_many_hubs: count,
    too_many_systems: count,
    too_many_series: count,
    too_many_alarms: count,
  }),
  hubs: z.array(hubTile),
});

const historyView = z.object({
  stepMs: z.number(),
  curves: z.array(
    z.object({
      probe: z.string(),
      points: z.array(
        z.object({
          time: z.number(),
          min: z.number(),
          mean: z.number(),
          max: z.number(),
          count,
          doubtful: z.literal(true).exactOptional(),
        }),
      ),
    }),
  ),
});

/** A hub at a glance. */
export type HubTile = z.infer<typeof hubTile>;

export type HubDetail = z.infer<typeof hubDetail>;

export type FleetMetric = z.infer<typeof fleetMetric>;

export type FleetAlarm = z.infer<typeof fleetAlarm>;

export type FleetAnswer = z.infer<typeof fleetView>;

export type FleetCurve = z.infer<typeof historyView>['curves'][number];

const ofHub = z.object({ hub: z.string().max(200) });

export const fleetApi = {
  'GET /api/fleet': {
    summary: 'Every other hub at a glance, the worst first',
    tags,
    response: { 200: fleetView },
  },
  'GET /api/fleet/:hub': {
    summary: 'A hub with its systems, latest values and alarms. `hub` is its topic prefix, with / as %2F',
    tags,
    params: ofHub,
    response: { 200: hubDetail },
  },
  'GET /api/fleet/:hub/history': {
    summary:
      'A metric over time from the time-series database: lowest, mean and highest of each of about `points` intervals',
    tags,
    params: ofHub,
    querystring: z.object({
      system: z.string().min(1).max(60),
      metric: z.enum(metrics),
      from: z.iso.datetime({ offset: true }),
      to: z.iso.datetime({ offset: true }),
      points: z.coerce.number<number>().int().min(10).max(2000).default(400),
    }),
    response: { 200: historyView },
  },
};
