import * as z from 'zod';
import { airings } from '#rules/titration/co2-hold.ts';

const by = z.string().min(1).max(60).optional();

/** How a titration with the keeper's own pH probe begins. */
export const titrationStartSchema = z
  .strictObject({
    system: z.string().min(1).max(40).describe('id of the system the sample is from'),
    probe: z.string().min(1).max(40).optional().describe("id of the pH probe; the system's when absent"),
    by,
    sample_ml: z.number().min(10).max(1000).optional().describe('the sample by volume'),
    sample_g: z.number().min(10).max(1000).optional().describe('or by mass'),
    sample_sd_percent: z
      .number()
      .min(0)
      .max(10)
      .optional()
      .describe('standard uncertainty of the sample; 0.5 by volume and 0.1 by mass when absent'),
    acid_mol_l: z.number().min(0.005).max(1).optional().describe('strength of the acid for each litre'),
    acid_mol_kg: z.number().min(0.005).max(1).optional().describe('or for each kilogram'),
    acid_sd_percent: z.number().min(0).max(10).default(0.5).describe('standard uncertainty of its strength'),
    acid_lot: z.string().min(1).max(60).optional().describe('lot on its label'),
    acid_by: z.enum(['ml', 'g']).default('ml').describe('how the acid is measured'),
    acid_step: z.number().min(0.0005).max(0.5).default(0.01).describe('smallest step of that scale'),
    salinity: z.number().min(19).max(43).optional().describe("of the sample; the tank's when absent"),
    temperature_c: z.number().min(5).max(35).optional().describe("of the sample; the tank's when absent"),
    airing: z.enum(airings).default('stirred').describe('what drives the CO2 out: air bubbled through, or stirring'),
  })
  .refine((start) => (start.sample_ml === undefined) !== (start.sample_g === undefined), 'either sample_ml or sample_g')
  .refine(
    (start) => (start.acid_mol_l === undefined) !== (start.acid_mol_kg === undefined),
    'either acid_mol_l or acid_mol_kg',
  );

export const titrationAcidSchema = z.strictObject({
  amount: z.number().positive().max(1000).describe('what went in with this portion, in the unit of the run'),
  key: z.string().min(1).max(100).optional().describe('the same key again is the same portion'),
});

export const titrationEndSchema = z.strictObject({ by });

export type TitrationStart = z.infer<typeof titrationStartSchema>;
