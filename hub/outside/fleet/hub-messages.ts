import * as z from 'zod';
import type { ReadSenml } from '#adapters/ports/hub-adapters.ts';
import { priorities } from '#rules/bands/watched-room.ts';
import { flags } from '#rules/quality/reading.ts';
import { isMetric, type Metric, metrics } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';
import { alarmPayload, statusPayload } from '../../judgement/notices/payload-schemas.ts';

/** What other hubs say is a stranger's word: each message is read by these, and what does not fit is counted and dropped. */

const moment = z.iso.datetime().transform((text) => Date.parse(text));
const id = z.string().min(1).max(60);

export const statusSchema = z.object({ state: statusPayload.shape.state, since: moment.nullable() });
export type HubStatus = z.infer<typeof statusSchema>;

export const heartbeatSchema = z.object({ time: moment });

export const weekSchema = z.object({ week: z.string().max(10), line: z.string().max(500) });
export type HubWeek = z.infer<typeof weekSchema>;

export const alarmSchema = z.object({
  alarm: z.string().min(1).max(200),
  occurrence: z.number(),
  state: alarmPayload.shape.state,
  system: z.string().max(60),
  system_name: z.string().max(60),
  metric: z.enum(['', ...metrics]),
  priority: z.enum(priorities),
  message: z.string().max(1000),
  time: moment,
});
export type HubAlarm = z.infer<typeof alarmSchema>;

/** A value in the metric's store unit; none with a flag that leaves none. */
export type HubReading = {
  system: string;
  metric: Metric;
  probe: string;
  timeMs: number;
  flag: (typeof flags)[number];
  /** That hub holds the probe for silent. */
  isSilent: boolean;
  value: number | undefined;
};

/** Made once: a schema costs a hundred times what a message does. */
const packSchema = z.array(z.record(z.string(), z.unknown())).min(1).max(3);
const flagRecord = z.object({ vs: z.enum(flags) });
const silentRecord = z.object({ vb: z.literal(true) });
const basedRecord = z.object({ bt: z.number() });

/** The JSON of a message by a schema; undefined when it is none or does not fit. */
export function readJson<Schema extends z.ZodType>(schema: Schema, text: string): z.output<Schema> | undefined {
  try {
    const read = schema.safeParse(JSON.parse(text));
    return read.success ? read.data : undefined;
  } catch {
    return undefined;
  }
}

/**
 * A pack of readings/SYSTEM/METRIC/PROBE, as `hub/outside/outward/senml-pack.ts` writes it: the value, its flag beside it as a text
 * record, or the flag alone; before the flag a boolean record of a probe that is silent.
 */
export function readReading(
  place: readonly string[],
  text: string,
  nowMs: number,
  readSenml: ReadSenml,
): HubReading | undefined {
  const [system, metric, probe, more] = place;
  if (more !== undefined || !id.safeParse(system).success || !id.safeParse(probe).success) return undefined;
  if (system === undefined || probe === undefined || metric === undefined || !isMetric(metric)) return undefined;
  const records = readJson(packSchema, text);
  const flagged = flagRecord.safeParse(records?.at(-1));
  if (records === undefined || !flagged.success) return undefined;
  const { vs: flag } = flagged.data;
  const isSilent = silentRecord.safeParse(records.at(-2)).success;
  const own = { system, metric, probe, flag, isSilent };
  const base = basedRecord.safeParse(records[0]).data?.bt;
  if (records.length === (isSilent ? 2 : 1))
    return base === undefined ? undefined : { ...own, timeMs: base * 1000, value: undefined };
  const [record] = readSenml(text, nowMs);
  if (record?.statedMs === undefined || record.channel !== `${system}/${metric}/${probe}`) return undefined;
  try {
    const value = record.unit === undefined ? record.value : toStoreUnit(metric, record.value, record.unit);
    return { ...own, timeMs: record.statedMs, value };
  } catch {
    return undefined;
  }
}
