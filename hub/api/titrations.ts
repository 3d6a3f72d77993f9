import * as z from 'zod';
import { titrationAcidSchema, titrationEndSchema, titrationStartSchema } from '../model/entries/titration-entry.ts';
import { byId } from './by-id.ts';

const tags = ['titrations'];

const deed = z.discriminatedUnion('do', [
  z.object({
    do: z.literal('add'),
    amount: z.number(),
    total: z.number().describe('with this portion'),
    size: z.enum(['large', 'small']),
  }),
  z.object({ do: z.literal('wait'), for: z.enum(['probe', 'co2']), waited_s: z.number() }),
  z.object({ do: z.literal('stop'), why: z.enum(['narrow', 'bottom', 'clock']) }),
]);

const answerView = z.object({
  alkalinity_dkh: z.number(),
  low95_dkh: z.number(),
  high95_dkh: z.number(),
  total_alkalinity_umol_kg: z.number(),
  sd_umol_kg: z.number(),
  half_width95_umol_kg: z.number(),
  shares_umol_kg: z
    .object({ points: z.number(), slope: z.number(), co2: z.number(), acid: z.number(), sample: z.number() })
    .describe('where the uncertainty comes from, as standard uncertainties'),
  points_used: z.number(),
  ph_offset: z.number().describe('by how much the probe reads above the free-scale pH'),
});

const titrationView = z.object({
  id: z.string(),
  system: z.string(),
  probe: z.string(),
  by: z.string(),
  started: z.string(),
  acid_unit: z.enum(['mL', 'g']),
  acid_step: z.number(),
  salinity: z.number(),
  temperature_c: z.number(),
  added: z.number().describe('total acid so far, in its unit'),
  portions: z.number(),
  deed,
  say: z.string().describe('the same in a sentence'),
  probe_now: z.object({
    state: z.enum(['silent', 'too_few', 'moving', 'at_rest']),
    ph: z.number().nullable(),
    change_ph: z.number().nullable().describe('of the last ten seconds against those before'),
  }),
  points: z.array(
    z.object({ time: z.string(), acid: z.number().describe('running total'), ph: z.number(), is_at_rest: z.boolean() }),
  ),
  co2: z
    .object({
      is_waiting: z.boolean(),
      waited_s: z.number(),
      shortest_s: z.number(),
      risen_ph: z.number(),
      left_at_most: z.number().describe('share of the CO2, 0 to 1, that the interval allows for'),
    })
    .nullable(),
  answer: answerView.nullable().describe('by the points so far (SOP 3b, non-linear); null while there are too few'),
  no_answer: z.string().nullable().describe('why the points so far give none'),
  gran_dkh: z.number().nullable().describe("by Gran's straight line through the same points, to compare"),
  warnings: z.array(z.object({ warning: z.string(), say: z.string() })),
  cautions: z.array(z.string()),
});

export type TitrationAnswer = z.infer<typeof titrationView>;

const response = { 200: titrationView };

export const titrationApi = {
  'POST /api/titrations': {
    summary: 'Begin an alkalinity titration with a pH probe of the hub; its alarms are off meanwhile',
    tags,
    body: titrationStartSchema,
    response: { 201: titrationView },
  },
  'GET /api/titrations': {
    summary: 'The titrations that are running',
    tags,
    response: { 200: z.array(titrationView) },
  },
  'GET /api/titrations/:id': {
    summary: 'A running titration: what to do now, and the result so far',
    tags,
    params: byId,
    response,
  },
  'POST /api/titrations/:id/acid': {
    summary: 'Log a portion of acid added',
    tags,
    params: byId,
    body: titrationAcidSchema,
    response,
  },
  'POST /api/titrations/:id/undo': {
    summary: 'Take back the last portion, if its amount was wrong',
    tags,
    params: byId,
    response,
  },
  'POST /api/titrations/:id/go-on': {
    summary: 'Do not wait for the CO2 any longer; the interval then allows for all of it',
    tags,
    params: byId,
    response,
  },
  'POST /api/titrations/:id/finish': {
    summary: 'Save the result as an alkalinity test, with its uncertainty and the whole run',
    tags,
    params: byId,
    body: titrationEndSchema,
    response: {
      201: z.object({
        id: z.number().describe('of the journal entry'),
        saved: z.string(),
        half_width95_dkh: z.number(),
        points_used: z.number(),
      }),
    },
  },
  'POST /api/titrations/:id/give-up': {
    summary: 'Give a titration up: nothing of it is kept',
    tags,
    params: byId,
    response: { 200: z.object({ id: z.string() }) },
  },
};
