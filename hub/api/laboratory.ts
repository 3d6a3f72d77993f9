import * as z from 'zod';

const asked = z.strictObject({
  rows: z
    .array(
      z.strictObject({
        element: z.string().trim().min(1).max(40).describe('symbol or English name; SO4 for sulfate'),
        value: z
          .union([z.number(), z.string().trim().min(1).max(40)])
          .describe('a number, or `<0.02` for below that limit'),
        unit: z.string().trim().max(20).default('mg/L').describe('mg/L, µg/L, g/L, ppm or ppb'),
      }),
    )
    .min(1)
    .max(120),
  salinity: z.number().min(5).max(42).optional().describe("as the laboratory measured it; the tank's when absent"),
});

const line = z.object({
  element: z.string(),
  value_mg_l: z.number(),
  is_below: z.boolean().describe('below the value'),
  reference_mg_l: z.number().nullable().describe('in reference seawater of this salinity; null where it has no number'),
  ratio: z.number().nullable(),
  verdict: z.enum(['near', 'off', 'far', 'not_compared']),
  from: z.string().nullable().describe('the usual cause of a value this far off'),
});

const compared = z.object({
  salinity: z.number(),
  salinity_of: z.enum(['laboratory', 'tank']),
  salinity_by_elements: z
    .number()
    .nullable()
    .describe('where all major elements are off by much the same: the salinity at which they would fit'),
  lines: z.array(line).describe('the furthest off first'),
  not_understood: z.array(z.string()),
  text: z.string(),
});

export type LaboratoryView = z.output<typeof compared>;

export const laboratoryApi = {
  'POST /api/laboratory/:system': {
    summary:
      "Compare a laboratory's table of elements with reference seawater of the tank's salinity; nothing is stored",
    tags: ['advice'],
    params: z.object({ system: z.string() }),
    body: asked,
    response: { 200: compared },
  },
};
