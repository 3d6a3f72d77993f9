import * as z from 'zod';
import { kclStandards } from '#rules/seawater/conductivity-standard.ts';
import { primaryBuffers } from '#rules/seawater/ph-buffer.ts';

const common = {
  probe: z.string().min(1).max(40).describe('id of the probe'),
  time: z.iso.datetime({ offset: true }).optional().describe('ISO 8601 with offset; now when absent'),
  by: z.string().min(1).max(60).describe('who'),
  why: z.string().min(1).max(500).describe('why: routine, a doubtful reading, a new electrode'),
  key: z.string().min(1).max(90).optional().describe('the same key again is the same calibration'),
};

const linearSchema = z.strictObject({
  kind: z.literal('linear'),
  ...common,
  slope: z.number().describe('reading = slope × what the probe sends + offset'),
  offset: z.number().describe("in the metric's store unit"),
});

const kclStandardSchema = z.strictObject({ kcl: z.enum(kclStandards) });
const seawaterStandardSchema = z.strictObject({
  seawater_salinity: z.number().describe('practical salinity, 35 for standard seawater'),
  salinity_sd: z.number().default(0.05).describe('standard uncertainty of that salinity'),
});

const cellSchema = z.strictObject({
  kind: z.literal('cell'),
  ...common,
  standard: z.union([kclStandardSchema, seawaterStandardSchema]),
  shown_mS_cm: z.number().positive().describe('what the probe sends in the standard, before any correction of the hub'),
  standard_temperature_C: z.number().describe('of the standard, not of the aquarium'),
  temperature_sd_C: z.number().default(0.2),
});

const bufferPointSchema = z
  .strictObject({
    buffer: z.enum(primaryBuffers).optional().describe('a primary buffer'),
    ph: z.number().optional().describe('or the pH on the bottle for this temperature'),
    potential_mV: z.number().optional().describe('of the electrode in it'),
    shown_ph: z.number().optional().describe('or what the probe sends in it, before any correction of the hub'),
    temperature_C: z.number().describe('of the buffer itself'),
  })
  .refine((point) => (point.buffer === undefined) !== (point.ph === undefined), 'either buffer or ph')
  .refine((point) => (point.potential_mV === undefined) !== (point.shown_ph === undefined), 'potential_mV or shown_ph');

const phSchema = z.strictObject({
  kind: z.literal('ph'),
  ...common,
  buffers: z.array(bufferPointSchema).min(1).max(3),
  buffer_ph_sd: z.number().optional(),
  potential_sd_mV: z.number().optional(),
});

/** A calibration as a person or a machine hands it in. */
export const calibrationEntrySchema = z.discriminatedUnion('kind', [linearSchema, cellSchema, phSchema]);

export type CalibrationEntry = z.infer<typeof calibrationEntrySchema>;
export type CellEntry = z.infer<typeof cellSchema>;
export type PhEntry = z.infer<typeof phSchema>;
