import * as z from 'zod';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';

const analyte = z.enum(demandAnalytes);
const days = z.number().nullable();

const months = z.object({
  growth: z
    .array(z.object({ analyte, percent_per_month: z.number(), low95: z.number(), high95: z.number() }))
    .describe('how the use grows, for each analyte with eight tests or more'),
  outgrown: z
    .array(
      z.object({
        analyte,
        what: z.enum(['dosing', 'lime_water', 'container', 'salinity']),
        limit_per_day: z.number().describe("the use at which it is outgrown, in the analyte's unit a day"),
        likely_days: days.describe('null: not within a year'),
        low95_days: days,
        high95_days: days,
        chance_within_a_year: z.number(),
        text: z.string(),
      }),
    )
    .describe('the soonest first'),
  text: z.string(),
});

export type MonthsView = z.output<typeof months>;

export const monthsApi = {
  'GET /api/months-ahead/:system': {
    summary: 'When use outgrows pumps, lime water, containers and water changes, at the growth that the tests show',
    tags: ['advice'],
    params: z.object({ system: z.string() }),
    response: { 200: months },
  },
};
