import * as z from 'zod';
import type { AlarmState, StandingAlarm as Judged } from '#rules/bands/standing-alarms.ts';
import { priorities } from '#rules/bands/watched-room.ts';
import { alarmId, why } from '../model/entries/alarm-schemas.ts';

const by = z.string().min(1).max(60).default('page');

const place = { system: z.string().min(1).max(60), probe: z.string().min(1).max(60).optional() };

const tags = ['alarms'];

const minutesOfDays = (days: number) =>
  z
    .number()
    .positive()
    .max(days * 24 * 60);

const states = [
  'unacknowledged',
  'acknowledged',
  'returned_unacknowledged',
  'shelved',
  'suppressed',
] as const satisfies AlarmState[];

export const standingAlarm = z.object({
  id: z.string(),
  system: z.string(),
  metric: z.string().describe('empty for one that is about no metric'),
  rule: z.string(),
  priority: z.enum(priorities),
  state: z.enum(states),
  isStanding: z.boolean().describe('the condition holds, or comes and goes and is expected again'),
  sinceMs: z.number().describe('when it began, or for one that has returned when it ended'),
  value: z.number().optional().describe("in the metric's store unit, as last known"),
  message: z.string(),
  occurrence: z.number(),
  untilMs: z.number().optional().describe('while it is silenced'),
  isFrozen: z.boolean().describe('no signal from its probe, so it stays as last known'),
  isChattering: z.boolean().describe('it comes and goes'),
  isStale: z.boolean().describe('for more than a day'),
} satisfies Record<keyof Judged, z.ZodType>);

export type StandingAlarm = z.infer<typeof standingAlarm>;

const maintenance = z.object({ system: z.string(), probe: z.string().optional(), until: z.string(), by: z.string() });

/** Done and stored; the answer is empty. */
const done = { 204: z.null() };

export const alarmApi = {
  'GET /api/alarms': {
    summary: 'Alarms that are active or wait for an acknowledgement',
    tags,
    response: { 200: z.array(standingAlarm) },
  },
  'POST /api/alarms/acknowledge': {
    summary: 'Acknowledge an alarm',
    tags,
    body: z.strictObject({ alarm: alarmId, by }),
    response: done,
  },
  'POST /api/alarms/shelve': {
    summary:
      'Silence an alarm for a while, at most as long as the configuration allows; one that asks to act now needs a reason',
    tags,
    body: z.strictObject({ alarm: alarmId, minutes: minutesOfDays(7), by, why }),
    response: done,
  },
  'POST /api/alarms/unshelve': {
    summary: 'Unsilence an alarm',
    tags,
    body: z.strictObject({ alarm: alarmId, by }),
    response: done,
  },
  'POST /api/maintenance': {
    summary:
      'Put a system or one probe into maintenance for at most a day: it raises no alarms while probes are out of the water',
    tags,
    body: z.strictObject({ ...place, minutes: minutesOfDays(1), by, why }),
    response: done,
  },
  'GET /api/maintenance': {
    summary: 'Systems and probes in maintenance, until when, and by whom',
    tags,
    response: { 200: z.array(maintenance) },
  },
  'POST /api/maintenance/end': {
    summary: 'End a maintenance window',
    tags,
    body: z.strictObject({ ...place, by }),
    response: done,
  },
};
