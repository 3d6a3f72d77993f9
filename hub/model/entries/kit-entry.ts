import * as z from 'zod';
import { analytes } from '#rules/quantity/metric.ts';

const common = {
  time: z.iso.datetime({ offset: true }).optional().describe('ISO 8601 with offset; now when absent'),
  by: z.string().min(1).max(60).optional(),
  key: z.string().min(1).max(100).optional().describe('the same key again is the same entry'),
};

export const kitOpenSchema = z.strictObject({
  ...common,
  name: z.string().min(1).max(60).describe('what you call the kit; the same name again is a new lot of it'),
  analyte: z.enum(analytes),
  lot: z.string().min(1).max(60).optional(),
  resolution: z.number().positive().optional().describe('smallest step of its scale, in the store unit of the analyte'),
});

export const kitCompareSchema = z
  .strictObject({
    ...common,
    found: z.array(z.number()).min(1).max(20).describe('what the kit read, one number for each repeat'),
    unit: z.string().max(20).optional().describe('of all values here; the store unit of the analyte when absent'),
    reference: z.number().optional().describe('value on the label of the reference solution'),
    reference_sd: z.number().min(0).optional().describe('standard uncertainty of the reference'),
    titration: z
      .int()
      .positive()
      .optional()
      .describe('or the test of the same water that the hub titrated, by its entry'),
  })
  .refine((each) => (each.reference === undefined) !== (each.titration === undefined), 'either reference or titration')
  .refine(
    (each) => each.reference === undefined || each.reference_sd !== undefined,
    'a reference goes with reference_sd',
  );

export const kitApplySchema = z.strictObject({
  from: z.iso.datetime({ offset: true }).describe('tests by this kit from here on are corrected, stored ones too'),
  by: z.string().min(1).max(60),
});

export type KitOpen = z.infer<typeof kitOpenSchema>;
export type KitCompare = z.infer<typeof kitCompareSchema>;
export type KitApply = z.infer<typeof kitApplySchema>;
