import * as z from 'zod';
import { analytes } from '#rules/quantity/metric.ts';
import { sgScales } from '../journal/bodies.ts';

/**
 * What a person or a machine can enter, the same for the HTTP API, the MQTT topics and the command line: a test, a dose,
 * a water change. `key` makes a repeated submission (a phone that sends twice) one entry.
 */
const common = {
  system: z.string().min(1).max(40).describe('id of the system'),
  time: z.iso.datetime({ offset: true }).optional().describe('ISO 8601 with offset; now when absent'),
  by: z.string().min(1).max(60).optional(),
  note: z.string().max(500).optional(),
  key: z.string().min(1).max(100).optional().describe('the same key again is the same entry'),
  corrects: z
    .int()
    .positive()
    .optional()
    .describe('id of the entry that this one replaces: it stays in the journal and no longer counts'),
};

export const testEntrySchema = z.strictObject({
  ...common,
  analyte: z.enum(analytes),
  value: z.number(),
  unit: z
    .string()
    .max(20)
    .optional()
    .describe('the unit of the value, empty for a pure number; the store unit of the analyte when absent'),
  sg_scale: z
    .enum(sgScales)
    .optional()
    .describe('for unit sg: the two temperatures on the scale of the instrument; 25/25 when absent'),
  water_temperature_c: z
    .number()
    .min(-2)
    .max(40)
    .optional()
    .describe(
      'for unit sg: of the water in which a glass hydrometer floated; absent for an instrument that corrects for it',
    ),
  sd: z.number().positive().optional().describe('standard uncertainty of the test, in the same unit'),
  kit: z
    .string()
    .min(1)
    .max(40)
    .optional()
    .describe('id of the kit, or `none`; the only one of the analyte that is in use when absent'),
  confirmed: z.boolean().optional().describe('true: the value was queried and is right as given'),
});

export const doseEntrySchema = z
  .strictObject({
    ...common,
    stock: z.string().min(1).max(40).optional().describe('id of a stock of the system, with ml'),
    ml: z.number().positive().max(1_000_000).optional(),
    substance: z.string().min(1).max(60).optional().describe('a substance, with grams'),
    grams: z.number().positive().max(1_000_000).optional(),
  })
  .refine((dose) => (dose.stock !== undefined) === (dose.ml !== undefined), 'a stock goes with ml')
  .refine((dose) => (dose.substance !== undefined) === (dose.grams !== undefined), 'a substance goes with grams')
  .refine(
    (dose) => (dose.stock === undefined) !== (dose.substance === undefined),
    'either stock and ml, or substance and grams',
  );

export const waterChangeEntrySchema = z.strictObject({
  ...common,
  volume_l: z.number().positive().max(1_000_000),
  alkalinity_dkh: z.number().min(0).max(25).optional(),
  calcium_mg_l: z.number().min(0).max(2000).optional(),
  magnesium_mg_l: z.number().min(0).max(5000).optional(),
  salinity: z.number().min(0).max(60).optional(),
});

export const planEntrySchema = z.strictObject({
  ...common,
  stock: z.string().min(1).max(40).describe('id of a stock of the system'),
  ml_per_day: z.number().min(0).max(100_000).describe('0 ends it'),
  times_per_day: z.int().min(1).max(288).optional(),
  configured: z.literal(true).optional().describe('back to what the configuration says, whatever ml_per_day is'),
});

export const refillEntrySchema = z.strictObject({
  ...common,
  stock: z.string().min(1).max(40).describe('id of a stock of the system'),
  ml: z.number().positive().max(1_000_000).optional().describe('how much is in it now; full when absent'),
});

/** The same as messages of MQTT. */
const answer = z
  .boolean()
  .default(true)
  .describe('false: no line to the phone when it is saved, for a machine that logs what it does itself');
export const testMessageSchema = testEntrySchema.extend({ answer });
export const doseMessageSchema = doseEntrySchema.safeExtend({ answer });
export const waterChangeMessageSchema = waterChangeEntrySchema.extend({ answer });
export const refillMessageSchema = refillEntrySchema.extend({ answer });

export type PlanEntry = z.infer<typeof planEntrySchema>;
export type RefillEntry = z.infer<typeof refillEntrySchema>;
export type TestEntry = z.infer<typeof testEntrySchema>;
export type DoseEntry = z.infer<typeof doseEntrySchema>;
export type WaterChangeEntry = z.infer<typeof waterChangeEntrySchema>;
