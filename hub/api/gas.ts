import * as z from 'zod';

const hour = z.object({ hour: z.number(), mean: z.number(), low: z.number(), high: z.number() });
const course = z
  .object({
    hours: z.array(hour).describe('local hours of the day, over the last week'),
    lowest: z.number(),
    lowest_at: z.number().describe('UTC ms'),
  })
  .nullable();
const interval = z.object({ likely: z.number(), low95: z.number(), high95: z.number() });
const ph = z.number().nullable();

const gas = z.object({
  ph: course.describe('as the probe shows it'),
  aragonite_saturation: course,
  is_light_told: z.boolean().describe('the hours of the lamp are entered; without them gas exchange is not learned'),
  transfer_per_h: interval
    .extend({ nights: z.number(), is_well_known: z.boolean() })
    .nullable()
    .describe('exchange of carbon dioxide between water and air, at 25 °C'),
  half_life_h: interval.nullable().describe('time in which half of what a dose did to pH is gone'),
  room_ppm: z.number().nullable().describe('carbon dioxide in the room air, entered or by a sensor'),
  low_ph: z
    .object({
      now: ph,
      in_outdoor_air: ph,
      in_room_air: ph,
      with_reactor: ph,
      air_in_balance_ppm: z.number(),
      share_of_room: z.number().nullable().describe('share of the carbon dioxide above that of outdoor air'),
    })
    .nullable()
    .describe('mean pH of the week and what it would be, as the probe shows it'),
  text: z.array(z.string()),
  cautions: z.array(z.string()),
});

export type GasView = z.output<typeof gas>;

export const gasApi = {
  'GET /api/gas/:system': {
    summary: 'pH and aragonite saturation through the day, gas exchange, and how much of a low pH is due to room air',
    tags: ['advice'],
    params: z.object({ system: z.string() }),
    response: { 200: gas },
  },
};
