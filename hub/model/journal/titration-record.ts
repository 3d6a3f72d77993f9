import * as z from 'zod';
import { airings } from '#rules/titration/co2-hold.ts';

/** What was known before the first acid. Shares are standard uncertainties over the value. */
export const guidedSetupSchema = z.object({
  sample: z.union([z.object({ volume_mL: z.number() }), z.object({ mass_g: z.number() })]),
  sampleRelativeSd: z.number(),
  acid: z.union([z.object({ mol_kg: z.number() }), z.object({ mol_L: z.number() })]),
  acidRelativeSd: z.number(),
  acidBy: z.enum(['mL', 'g']),
  acidStep: z.number(),
  salinity: z.number(),
  temperature_C: z.number(),
  airing: z.enum(airings),
  expected_umol_kg: z.object({ value: z.number(), sd: z.number() }),
  slopeRelativeSd: z.number(),
  readingResolution_ph: z.number(),
});

/**
 * A whole titration as the test keeps it: with the setup it can be fitted again, by this program or another. Warnings as words: one
 * that is no more stays in the history.
 */
export const titrationRecordSchema = z.object({
  probe: z.string(),
  startedMs: z.number(),
  acid_lot: z.string().optional(),
  setup: guidedSetupSchema,
  /** Acid as a running total in the unit of the setup. */
  points: z.array(
    z.object({ timeMs: z.number(), acid: z.number(), ph: z.number(), sd_ph: z.number(), isAtRest: z.boolean() }),
  ),
  /** Of the CO2, 0 to 1: what was allowed to be left. */
  co2LeftAtMost: z.number(),
  total_alkalinity_umol_kg: z.number(),
  half_width_95_umol_kg: z.number(),
  shares_umol_kg: z.record(z.string(), z.number()),
  points_used: z.number(),
  ph_offset: z.number(),
  gran_umol_kg: z.number().optional(),
  warnings: z.array(z.string()),
});

export type TitrationRecord = z.infer<typeof titrationRecordSchema>;
