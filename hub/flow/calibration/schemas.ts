import * as z from 'zod';
import { kclStandards } from '#rules/seawater/conductivity-standard.ts';
import { primaryBuffers } from '#rules/seawater/ph-buffer.ts';
import { correctionSchema } from '../pipeline/correction.ts';

const common = {
  probe: z.string().min(1).max(40).describe('id of the probe'),
  time: z.iso.datetime({ offset: true }).optional().describe('ISO 8601 with offset; now when absent'),
  by: z.string().min(1).max(60).describe('who'),
  why: z.string().min(1).max(500).describe('why: a routine, a doubt, a new electrode'),
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
    ph: z.number().optional().describe('or the pH that stands on the bottle for this temperature'),
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

/** `unproven`: one buffer says nothing about the slope. `not_judged`: a slope and an offset found elsewhere. */
export const verdictSchema = z.object({
  state: z.enum(['good', 'unproven', 'clean_and_recalibrate', 'replace', 'not_judged']),
  /** What was found and what is allowed, in a sentence each. */
  reasons: z.array(z.string()),
  slope_percent: z.number().optional(),
  offset_mV: z.number().optional(),
  worst_residual_ph: z.number().optional(),
  /** Of a reading at pH 8.2 and 25 °C: from buffers and meter, with one more reading of that meter. */
  standard_uncertainty_ph: z.number().optional(),
  cell_factor: z.number().optional(),
  standard_mS_cm: z.number().optional(),
  error_percent: z.number().optional(),
  standard_uncertainty_percent: z.number().optional(),
});

/** A calibration as the journal keeps it. */
export const calibrationBodySchema = z.object({
  probe: z.string(),
  metric: z.string(),
  kind: z.enum(['linear', 'cell', 'ph']),
  by: z.string(),
  why: z.string(),
  correction: correctionSchema,
  verdict: verdictSchema,
  /** As it was handed in. */
  given: z.record(z.string(), z.unknown()),
});

export type CalibrationEntry = z.infer<typeof calibrationEntrySchema>;
export type CellEntry = z.infer<typeof cellSchema>;
export type PhEntry = z.infer<typeof phSchema>;
export type Verdict = z.infer<typeof verdictSchema>;
export type CalibrationBody = z.infer<typeof calibrationBodySchema>;
