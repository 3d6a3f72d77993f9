import * as z from 'zod';
import { lampSchema, parSchema } from '../model/entries/light-entry.ts';

const params = z.object({ system: z.string() });
const height = { height_cm: z.number().describe('above the sand bed') };
const lit = {
  ...height,
  par: z.number().describe('µmol/m²/s at full light'),
  dli: z.number().describe('mol/m² a day'),
};

const light = z.object({
  lamp: z
    .object({
      name: z.string(),
      since: z.string(),
      on_at: z.string(),
      full_hours: z.number(),
      ramp_up_hours: z.number(),
      ramp_down_hours: z.number(),
    })
    .nullable(),
  places: z.array(z.object(lit)).describe('measured under this lamp, lowest first'),
  pieces: z.array(z.object({ id: z.string(), kind: z.string(), ...lit })),
  change: z
    .object({
      from: z.string().describe('the lamp before'),
      heights: z.array(z.object({ ...height, before_dli: z.number(), after_dli: z.number(), ratio: z.number() })),
      days: z.array(z.object({ day: z.number(), share: z.number().describe('of the full light of the lamp') })),
      today: z.number().describe('day of these; beyond their number when they are over'),
    })
    .nullable()
    .describe('how to bring in the present lamp: on the first day no piece gets more light than before'),
  text: z.array(z.string()),
  cautions: z.array(z.string()),
});

export type LightView = z.output<typeof light>;

export const lightApi = {
  'GET /api/light/:system': {
    summary: 'Lamp, PAR by height, daily light of each placed piece, and how to bring in a new lamp',
    tags: ['pieces'],
    params,
    response: { 200: light },
  },
  'POST /api/light/:system/lamp': {
    summary: 'Log a new lamp, or new hours for one',
    tags: ['pieces'],
    params,
    body: lampSchema,
    response: { 201: light },
  },
  'POST /api/light/:system/arrivals/:id': {
    summary: 'Redo the light plan of an arrival for the present lamp, from the light that its pieces had',
    tags: ['pieces'],
    params: z.object({ system: z.string(), id: z.string() }),
    response: { 200: z.object({ days: z.array(z.object({ day: z.number(), ...lit })) }) },
  },
  'POST /api/light/:system/par': {
    summary: 'Log PAR measured under the lamp',
    tags: ['pieces'],
    params,
    body: parSchema,
    response: { 201: light },
  },
};
