import * as z from 'zod';
import { metrics } from '#rules/quantity/metric.ts';
import { quietSchema } from '../config/schema-notices.ts';

const unit = z.string().max(20);
const clockTime = quietSchema.shape.from.unwrap();
/** In full: half of a window would take its other half from a default that nobody sees. */
const windowSchema = z.strictObject({ from: clockTime, to: clockTime });

/** What was chosen in the page, as it is stored. What is absent is as the file has it. */
export const settingsSchema = z.strictObject({
  display_units: z.partialRecord(z.enum(metrics), unit).default({}),
  quiet_hours: z.strictObject({ medium: windowSchema.optional(), low: windowSchema.optional() }).default({}),
});

/** A change from the page; null goes back to the file's value, and what is not named stays. */
export const settingsChangeSchema = z.strictObject({
  display_units: z
    .partialRecord(z.enum(metrics), unit.nullable())
    .default({})
    .describe('in which unit a metric is shown; null for the value of the file'),
  quiet_hours: z
    .strictObject({ medium: windowSchema.nullable().optional(), low: windowSchema.nullable().optional() })
    .default({})
    .describe('by the wall clock of the site; the same time twice for none; null for the value of the file'),
  by: z.string().min(1).max(60).default('page'),
});

export type Settings = z.infer<typeof settingsSchema>;
export type SettingsChange = z.infer<typeof settingsChangeSchema>;
