import * as z from 'zod';
import { metrics } from '#rules/quantity/metric.ts';
import { shownUnitSchema } from '../model/settings/shown-unit.ts';

/** What stands beside every value, so that whoever shows it need not know the metrics. */
export const metricFactsFields = {
  metric: z.enum(metrics),
  label: z.string(),
  unit: z.string().describe('of the store'),
  decimals: z.number(),
  shown: shownUnitSchema.nullable().describe("how it is turned into the keeper's unit; null where that is the store's"),
};
