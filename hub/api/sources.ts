import * as z from 'zod';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';

const source = z.object({
  stock: z.string(),
  name: z.string(),
  ml_per_day: z.number(),
  rises_per_day: z.partialRecord(z.enum(demandAnalytes), z.number()).describe("in each analyte's own unit"),
  co2_mmol_per_day: z
    .number()
    .nullable()
    .describe('carried in by the effluent of a reactor; null where it is not known'),
  ph_after_day: z
    .number()
    .nullable()
    .describe('total scale, after a day of it and before any carbon dioxide leaves the water'),
  text: z.string(),
  cautions: z.array(z.string()),
});

export type SourceView = z.output<typeof source>;

export const sourceApi = {
  'GET /api/sources/:system': {
    summary: 'Lime water, calcium reactor and balanced salts: what each adds a day by the current plan',
    tags: ['advice'],
    params: z.object({ system: z.string() }),
    response: { 200: z.array(source) },
  },
};
