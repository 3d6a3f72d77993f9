import * as z from 'zod';

/** A glass electrode between the wire and its pH: potential = offset - share × Nernst slope × (pH - 7). */
const electrodeSchema = z.strictObject({
  /** What the wire carries: a potential in mV, or the pH that a meter made of it with an ideal electrode. */
  signal: z.enum(['ph', 'mV']),
  offset_mV: z.number(),
  slopeShare: z.number().positive(),
  /** What that meter took for the temperature, and what is taken here while no temperature is known. */
  meterTemperature_C: z.number(),
});

/**
 * How the number on the wire, in the metric's store unit (mV for an electrode's potential), becomes the reading: through
 * the electrode where there is one, then slope and offset in the metric's store unit.
 */
export const correctionSchema = z.strictObject({
  electrode: electrodeSchema.optional(),
  slope: z.number().refine((slope) => slope !== 0),
  offset: z.number(),
});

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

export type Electrode = z.infer<typeof electrodeSchema>;
export type Correction = z.infer<typeof correctionSchema>;
export type Verdict = z.infer<typeof verdictSchema>;
