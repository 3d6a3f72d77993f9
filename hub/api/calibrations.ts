import * as z from 'zod';
import { calibrationEntrySchema } from '../model/entries/calibration-entry.ts';
import { correctionSchema, verdictSchema } from '../model/journal/calibration-schema.ts';

const tags = ['calibrations'];

const instant = z.iso.datetime({ offset: true });

const kind = z.enum(['linear', 'cell', 'ph']);

const judged = z.object({
  id: z.number().nullable().describe('null for a dry run: nothing was saved'),
  probe: z.string(),
  kind,
  time: z.string(),
  verdict: verdictSchema,
  correction: correctionSchema,
  in_force_from: z.string().describe('time of the first reading that it corrects by itself'),
  history_behind: z
    .boolean()
    .describe('readings from after its date are already stored: apply-to-history corrects them'),
});

const ofProbe = z.object({
  probe: z.string(),
  metric: z.string(),
  wire: z
    .object({ value: z.number(), unit: z.string(), time: z.string() })
    .nullable()
    .describe('what the probe sent last, before any correction: to calibrate against'),
  in_force: z
    .array(z.object({ from: z.string().nullable(), calibration: z.number().nullable() }))
    .describe('which calibration corrected the stored readings, by their time; null for the configuration'),
  calibrations: z.array(
    z.object({
      id: z.number(),
      time: z.string(),
      recorded: z.string(),
      kind,
      by: z.string(),
      why: z.string(),
      verdict: verdictSchema,
      correction: correctionSchema,
    }),
  ),
});

const applied = z.object({
  calibration: z.number(),
  probe: z.string(),
  from: z.string(),
  to: z.string(),
  readings: z.number().describe('how many have a new value or flag'),
  salinity: z.number(),
  specific_gravity: z.number(),
  note: z.number().nullable().describe('the journal entry that says what was done; null when there was nothing to do'),
});

export type { Verdict } from '../model/journal/calibration-schema.ts';

export type JudgedCalibration = z.infer<typeof judged>;

/** The calibrations of a probe, oldest first. */
export type CalibrationsOfProbe = z.infer<typeof ofProbe>;

export type AppliedCalibration = z.infer<typeof applied>;

export const calibrationApi = {
  'POST /api/calibrations': {
    summary: 'Calibrate a probe; with dry_run=true only the verdict is given and nothing is saved',
    tags,
    querystring: z.object({ dry_run: z.enum(['true', 'false']).default('false') }),
    body: calibrationEntrySchema,
    response: { 200: judged, 201: judged },
  },
  'GET /api/calibrations': {
    summary: "A probe's calibrations, oldest first, and what it sends uncorrected",
    tags,
    querystring: z.object({ probe: z.string().min(1).max(40) }),
    response: { 200: ofProbe },
  },
  'POST /api/calibrations/:id/apply-to-history': {
    summary: 'Correct the stored readings of the probe by this calibration, and what is derived from them',
    tags,
    params: z.object({ id: z.coerce.number().int().positive() }),
    body: z.strictObject({ from: instant, to: instant, by: z.string().min(1).max(60) }),
    response: { 200: applied },
  },
};
