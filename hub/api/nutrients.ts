import * as z from 'zod';

const level = z
  .object({ level: z.number(), low95: z.number(), high95: z.number(), tests_used: z.number() })
  .nullable()
  .describe('mg/L of the ion, as it is estimated now; null without a test');

const nutrients = z.object({
  nitrate: level,
  phosphate: level,
  by_mass: z.number().nullable().describe('nitrate to phosphate; null where either is not known'),
  by_mass_low95: z.number().nullable(),
  by_mass_high95: z.number().nullable().describe('null where phosphate may be next to nothing'),
  by_moles: z.number().nullable().describe('atoms of nitrogen to each of phosphorus'),
  text: z.string(),
});

export type NutrientView = z.output<typeof nutrients>;

export const nutrientApi = {
  'GET /api/nutrients/:system': {
    summary: 'Nitrate and phosphate and their ratio, with intervals',
    tags: ['advice'],
    params: z.object({ system: z.string() }),
    response: { 200: nutrients },
  },
};
