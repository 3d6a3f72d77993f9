import * as z from 'zod';

const seconds = z.number().nullable();
const words = z.string().nullable();
const counts = z.record(z.string(), z.number());

export const causeSchema = z.object({ part: z.string(), cause: z.string() });

export type Cause = z.infer<typeof causeSchema>;

export const healthSchema = z.object({
  status: z.enum(['ok', 'degraded']),
  alive: z.boolean(),
  ready: z.boolean(),
  causes: z.array(causeSchema).describe('what is wrong, by part'),
  started: z.string(),
  edges: z.array(
    z.object({
      name: z.string(),
      up: z.boolean(),
      last_success: words,
      age_seconds: seconds,
      error: words,
      counts,
    }),
  ),
  readings: counts,
  outbox: z.record(
    z.string(),
    z.object({ waiting: z.number(), parked: z.number(), dropped: z.number(), oldest_age_seconds: seconds }),
  ),
  store: z.object({ bytes: z.number(), disk_free_bytes: z.number().nullable() }),
  clock: z.object({
    trusted: z.boolean(),
    time: z.string(),
    why: words,
    steps_forward: z.number(),
    steps_back: z.number(),
    readings_waiting: z.number().describe('in memory, until the clock is set'),
    readings_dropped: z.number(),
  }),
  backup: z.object({
    enabled: z.boolean(),
    running: z.boolean(),
    last_success: words,
    age_seconds: seconds,
    file: words,
    error: words,
  }),
  timers: z.array(
    z.object({
      name: z.string(),
      runs: z.number(),
      every_seconds: z.number(),
      last_seconds_ago: seconds,
      last_took_seconds: seconds,
    }),
  ),
  sizes: counts,
  unclean_stop: words,
});

export type Health = z.infer<typeof healthSchema>;
