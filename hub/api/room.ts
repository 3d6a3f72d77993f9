import * as z from 'zod';
import type { EdgeState } from '#adapters/ports/edge.ts';
import { priorities } from '#rules/bands/watched-room.ts';
import { metrics } from '#rules/quantity/metric.ts';
import { causeSchema } from '../model/answers/health-schema.ts';
import { adviceAnalyte, adviceView, declineReason } from './advice.ts';
import { standingAlarm } from './alarms.ts';
import { metricFactsFields } from './metric-facts.ts';
import { plotPoint, timeMs } from './series.ts';

export type { LiveValue } from '../model/answers/live-value.ts';

const tags = ['room'];

const outlookPoint = z.object({ time: timeMs, level: z.number(), low: z.number(), high: z.number() });

/** The expected level, and its 95 % interval. */
export type OutlookPoint = z.infer<typeof outlookPoint>;

const outlook = z.object({
  by: z.enum(['tests', 'probe']),
  points: z.array(outlookPoint),
  leavesAt: timeMs.nullable().describe('when the expected level leaves the band; null: not within the two days'),
  mayLeaveAt: timeMs.nullable().describe('when the interval first touches an edge'),
  leavesBy: z.enum(['low', 'high']).nullable(),
  perDay: z.number().describe('change a day; 0 when no trend can be told from the usual scatter'),
});

/** Where a metric is likely to go in the two days to come. */
export type Outlook = z.infer<typeof outlook>;

const metricView = z.object({
  ...metricFactsFields,
  probe: z.string().nullable(),
  value: z.number().nullable(),
  flag: z.string(),
  why: z.string().nullable(),
  time: timeMs.nullable(),
  silentAfterMs: z.number().nullable().describe('how long its probe may be silent; null where nothing is expected'),
  band: z.object({ low: z.number(), high: z.number() }).nullable(),
  day: z.array(plotPoint).describe('the last day in steps of ten minutes; of half an hour in a room of many systems'),
  outlook: outlook.nullable().describe('null while too little is known'),
  tests: z.array(z.object({ id: z.number(), time: timeMs, value: z.number(), sd: z.number().nullable() })),
});

/** One metric of a system as the page shows it. Values are in the metric's store unit. */
export type MetricView = z.infer<typeof metricView>;

const plan = z.object({
  stock: z.string(),
  name: z.string(),
  mlPerDay: z.number(),
  timesPerDay: z.number(),
  configured: z.object({ mlPerDay: z.number(), timesPerDay: z.number() }),
  changedMs: timeMs.nullable().describe('when a person changed it last; null while the configuration holds'),
});

const decline = z.object({
  reason: declineReason,
  note: z.string().optional(),
  by: z.string(),
  timeMs,
});

const systemView = z.object({
  id: z.string(),
  name: z.string(),
  volume_l: z.number(),
  metrics: z.array(metricView),
  alarms: z.array(standingAlarm),
  advice: z.array(
    z.object({
      analyte: adviceAnalyte,
      advice: adviceView,
      declined: decline.nullable().describe('a person has said why it is not done, and the advice is still the same'),
    }),
  ),
  stocks: z.array(z.object({ id: z.string(), name: z.string() })),
  plans: z.array(plan).describe('what is given every day, and who said so'),
  maintenance: z
    .array(z.object({ system: z.string(), probe: z.string().optional(), untilMs: timeMs, by: z.string() }))
    .describe('the system, or one probe of it, is in maintenance'),
  probes: z.array(
    z.object({ id: z.string(), metric: z.enum(metrics), name: z.string().nullable().describe('as of `/api/probes`') }),
  ),
});

export type SystemView = z.infer<typeof systemView>;

export type AdviceView = SystemView['advice'][number]['advice'];

const edge = z.object({
  name: z.string(),
  isUp: z.boolean(),
  lastSuccessMs: timeMs.optional(),
  lastError: z.string().optional().describe('while it is down'),
  counts: z.record(z.string(), z.number()),
  trouble: z.string().optional().describe('what goes wrong although it is up'),
} satisfies Record<keyof EdgeState, z.ZodType>);

const roomView = z.object({
  site: z.string(),
  timezone: z.string(),
  time: timeMs,
  silenceAtMostHours: z.record(z.enum(priorities), z.number()).describe('for how long an alarm may be silenced'),
  invented: z.boolean().describe('the room of the demo'),
  systems: z.array(systemView),
  edges: z.array(edge),
  causes: z.array(causeSchema).describe('what is wrong with the hub itself, the worst first'),
});

export type RoomView = z.infer<typeof roomView>;

export const roomApi = {
  'GET /api/room': {
    summary: 'Every system with its metrics, tests, alarms and advice',
    tags,
    response: { 200: roomView },
  },
  'GET /api/live': {
    summary: 'Server-sent events: `values` with new readings, `changed` when the room is to be fetched again',
    tags,
    produces: ['text/event-stream'],
  },
};
