import * as z from 'zod';
import type { Pest } from '#rules/arrivals/pests.ts';

/** Pests as a keeper writes them in YAML, counted in days. */

/** The id of a pest: ours, or one of the keeper's file. */
export const pestIdSchema = z
  .string()
  .regex(/^[a-z0-9][a-z0-9_-]{0,39}$/, 'small letters, digits, - and _, at most 40 characters');

const pestSchema = z
  .strictObject({
    id: pestIdSchema,
    label: z.string().min(1).max(80),
    look_for: z.string().min(1).max(400),
    /** Dips after the first; 0 where only the eye keeps watch. */
    repeat_dips: z.int().min(0).max(20),
    /** From a dip on: what hatched is reached from here on, and lays from there on. */
    opens_days: z.number().min(0.5).max(60),
    closes_days: z.number().min(0.5).max(90),
    /** The watch ends so long after the last dip. */
    watch_days: z.number().min(1).max(365),
    inspect_every_days: z.number().min(1).max(60).default(7),
    source: z.string().min(1).max(200).default('common practice, no published source'),
  })
  .refine(({ opens_days, closes_days }) => opens_days < closes_days, {
    path: ['closes_days'],
    message: 'more days than opens_days',
  })
  .refine(({ closes_days, watch_days }) => closes_days <= watch_days, {
    path: ['watch_days'],
    message: 'at least as many days as closes_days',
  });

export const pestFileSchema = z.strictObject({ pests: z.array(pestSchema).max(100) });

/** A pest of the file as the rules know it. */
export function pestOf(entry: z.infer<typeof pestSchema>): Pest {
  const { id, label, look_for, repeat_dips, opens_days, closes_days, watch_days, inspect_every_days, source } = entry;
  return {
    id,
    label,
    lookFor: look_for,
    repeatDips: repeat_dips,
    inspectEveryDays: inspect_every_days,
    source,
    window: { kind: 'days', opensDays: opens_days, closesDays: closes_days, watchDays: watch_days },
  };
}
