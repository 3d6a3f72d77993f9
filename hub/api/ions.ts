import * as z from 'zod';

const ions = z.object({
  ions: z.array(
    z.object({
      ion: z.string(),
      reference_mg_l: z.number().describe('in the sea at the salinity of this tank'),
      rise_per_day_mg_l: z.number(),
      at_rest: z.number().nullable().describe('ratio to the sea at which it levels off; null: it does not'),
      matters_after_days: z.number().nullable().describe('until it is a tenth off; null: not within ten years'),
      change_to_hold: z.number().describe('share of the water to change in a day so that it stays within a tenth'),
    }),
  ),
  salt_per_day_mg_l: z.number(),
  salinity_per_month: z.number().describe('without dilution'),
  changed_per_day: z.number().describe('share of the water, over the last months'),
  not_counted: z.array(z.string()).describe('stocks of unknown composition'),
  text: z.array(z.string()),
});

export type IonsView = z.output<typeof ions>;

export const ionsApi = {
  'GET /api/ions/:system': {
    summary: 'What dosing leaves in the water over months, and the water changes that hold it down',
    tags: ['advice'],
    params: z.object({ system: z.string() }),
    response: { 200: ions },
  },
};
