import * as z from 'zod';
import { ruleKinds } from '#rules/bands/kinds/list.ts';
import { priorities } from '#rules/bands/watched-room.ts';
import { flags } from '#rules/quality/reading.ts';
import { metrics } from '#rules/quantity/metric.ts';

/** What the hub publishes as JSON. The page about MQTT is written from these, and what a hub really sends is held against them. */

const moment = z.iso.datetime();

export const statusPayload = z.strictObject({
  state: z
    .enum(['online', 'offline'])
    .describe('`offline` also by last will, from a separate broker, when the hub or its line died'),
  since: moment.nullable().describe('null in a last will: nobody was there to see when'),
});

export const heartbeatPayload = z.strictObject({
  time: moment.describe('of this beat; older than three minutes means that nobody watches'),
  since: moment.describe('when the hub started'),
  readings: z.number().describe('taken in since then'),
  status: z.enum(['ok', 'degraded']).describe('of the hub itself, as /health has it'),
  causes: z
    .array(z.object({ part: z.string(), cause: z.string() }))
    .describe('why it is not ok, the worst first, at most five'),
});

export const alarmPayload = z.strictObject({
  alarm: z.string().describe('its id, for `acknowledge` and `shelve`; the end of the topic'),
  occurrence: z.number().describe('with `alarm` and `state` it names this event for good: the same again is a repeat'),
  state: z.enum([
    ...['raised', 'cleared', 'acknowledged', 'shelved', 'unshelved', 'suppressed', 'unsuppressed', 'reraised'],
  ] as const),
  system: z.string(),
  system_name: z.string(),
  metric: z.enum([...metrics, '']).describe('empty when it is about no metric'),
  rule: z.enum([...ruleKinds, 'edge_fault']).describe('the kind, see alarms.md'),
  priority: z.enum(priorities),
  value: z.number().nullable().describe('in `unit`; null when there is no number, as of a silent probe'),
  unit: z.string().describe('the unit of the store; empty for a pure number'),
  message: z.string().describe('one plain sentence, in the units that the keeper asked for'),
  time: moment,
  by: z.string().optional().describe('who acknowledged or shelved it'),
  why: z.string().optional().describe('why it was shelved, when a reason was given'),
  repeat: z.literal(true).optional().describe('said before, to a broker that has lost it since'),
});

export const weekPayload = z.strictObject({
  week: z.string().describe('ISO week, such as 2026-W47'),
  site: z.string(),
  from: moment,
  to: moment,
  line: z.string().describe('the same in one line, as the phone got it'),
  bands_kept_percent: z.number().optional().describe('of the time with readings; what is not known is left out'),
  alarms: z.number().optional().describe('raised in the week'),
  alarms_per_day: z.number().optional(),
  demand: z.array(
    z.strictObject({
      system: z.string(),
      analyte: z.string(),
      unit: z.string(),
      per_day: z.number(),
      change: z.number().optional().describe('against the week before'),
    }),
  ),
  to_do: z.array(z.strictObject({ system: z.string(), kind: z.string(), what: z.string(), reason: z.string() })),
});

/** One record with the value where there is a good one, and one with the flag. @source RFC 8428 */
export const readingPayload = z
  .array(
    z.strictObject({
      bn: z.string().optional().describe('`SYSTEM/METRIC/`, in the first record'),
      bt: z.number().optional().describe('UTC seconds, in the first record'),
      n: z.string().describe('the probe, or the probe and `/silent` or `/flag`'),
      u: z
        .enum(['Cel', 'pH', 'S/m', 'mV', 'mm'])
        .optional()
        .describe('absent: the unit of the store, which SenML has no name for'),
      v: z.number().optional().describe('the value; not sent for a reading that failed or is missing'),
      vb: z.literal(true).optional().describe('the probe is silent; the record is absent while it is not'),
      vs: z.enum(flags).optional().describe('the quality flag'),
    }),
  )
  .min(1)
  .max(3);
