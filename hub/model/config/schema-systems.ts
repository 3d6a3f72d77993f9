import * as z from 'zod';
import { substanceIds } from '#rules/dosing/substance.ts';
import { testedAnalytes } from '#rules/quantity/analyte-table.ts';
import { type Metric, metrics } from '#rules/quantity/metric.ts';
import { idSchema as id, positive } from './schema-fields.ts';

const bandSchema = z.strictObject({
  low: z.number().describe("Lower edge, in the metric's own unit."),
  high: z.number().describe('Upper edge, above `low`.'),
  most_per_hour: positive.optional().describe('Most it may move in an hour; four tenths of the band unless given.'),
  most_per_day: positive.optional().describe('Most it may swing in a day; advice never asks for more in a day.'),
});

const bandsSchema = z.strictObject(
  Object.fromEntries(metrics.map((metric) => [metric, bandSchema.optional()])) as Record<
    Metric,
    z.ZodOptional<typeof bandSchema>
  >,
);

const stockSchema = z.strictObject({
  id,
  name: z.string().min(1).max(80),
  substance: z
    .enum([...substanceIds, 'own_strength', 'calcium_reactor'])
    .describe(
      'What is dissolved; `own_strength` for a bought solution whose label states what a millilitre does; `calcium_reactor` for the effluent of one.',
    ),
  grams_per_litre: positive
    .optional()
    .describe('Grams of the substance in a litre of the finished solution; absent for a product that is weighed dry.'),
  raises_100_l_by_per_ml: positive
    .optional()
    .describe('For `own_strength`: what one millilitre adds to 100 litres, in dKH or mg/L.'),
  raises: z.enum(testedAnalytes).optional(),
  also_raises_100_l_by_per_ml: z
    .partialRecord(z.enum(testedAnalytes), positive)
    .optional()
    .describe('For `own_strength`: what the same millilitre adds of others, as balanced all-in-one salts do.'),
  top_off: z
    .strictObject({
      evaporation_l_per_day: positive.describe('Measured or estimated: what the top-off gives in a day.'),
      temperature_c: z.number().min(0).max(40).default(25).describe('Of the lime water: warm water holds less.'),
      saturation_share: z.number().gt(0).max(1).default(0.9).describe('How strong it is beside saturated lime water.'),
    })
    .optional()
    .describe(
      'For `calcium_hydroxide`: lime water as top-off. Its strength and its plan follow, where none are given.',
    ),
  effluent: z
    .strictObject({
      alkalinity_dkh: z.number().min(5).max(60).describe('Of the effluent, tested.'),
      tank_alkalinity_dkh: z.number().min(1).max(20).default(8).describe('Of the water that goes in.'),
      magnesium_share: z.number().min(0).max(0.5).default(0).describe("Magnesium in the media's metal, by moles."),
      ph: z
        .number()
        .min(5)
        .max(8.5)
        .optional()
        .describe('Of the effluent, on the scale of usual buffers; advice takes 6.5 where nobody measured it.'),
    })
    .optional()
    .describe('For `calcium_reactor`; its flow is its `ml_per_day` in `standing_plan`.'),
  container_ml: positive.optional(),
  most_ml_per_day_per_100_l: positive
    .optional()
    .describe('Most that its maker or the keeper allows in a day for each 100 litres of the system.'),
});

const planSchema = z.strictObject({
  stock: id,
  ml_per_day: z.number().nonnegative(),
  times_per_day: z.int().min(1).max(288).default(1),
});

/** A body of water: its bands, what is dosed into it, and how often it is tested. */
export const systemSchema = z.strictObject({
  id,
  name: z.string().min(1).max(60),
  volume_l: z.number().min(1).max(1_000_000).describe('Water in the whole system, sump included.'),
  bands: bandsSchema,
  stocks: z
    .array(stockSchema)
    .max(20)
    .default([])
    .describe(
      'What the keeper doses from; advice changes one at a time: one that is given already, and brings nothing else, first.',
    ),
  standing_plan: z
    .array(planSchema)
    .max(20)
    .default([])
    .describe('Doses given every day by hand or machine, taken as done until changed.'),
  highest_ph_after_dose: z
    .number()
    .min(8)
    .max(9)
    .default(8.5)
    .describe(
      'The highest pH that the doses of a day may lead to, as the meter shows it (on the `ph_scale` of its probe).',
    ),
  test_every_days: z.partialRecord(z.enum(metrics), positive).default({}),
});
