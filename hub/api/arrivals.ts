import * as z from 'zod';
import {
  arrivalEntrySchema,
  arrivedSchema,
  shockSchema as bagSchema,
  dippedSchema,
  holdSchema,
  lightSchema,
  pestSchema,
  prepareSchema,
  quarantineSchema,
  seenSchema,
  stepBackSchema,
} from '../model/entries/arrival-schemas.ts';
import { byId } from './by-id.ts';
import { shockSchema } from './runs.ts';

const tags = ['arrivals'];

const eventOfArrival = byId.extend({ time: z.iso.datetime({ offset: true }).describe('as the arrival tells it') });

const nothing = z.strictObject({});

const preparedView = z.object({
  baths: z.number(),
  bath_l: z.number(),
  tank_share: z.number(),
  bag_share: z.number(),
  tank_l: z.number(),
  bag_l: z.number(),
  replace_l: z.number(),
  rinse_l: z.number(),
  spare_l: z.number(),
  fresh_l: z.number(),
  salinity: z.number(),
  salinity_sd: z.number(),
  salt_g: z.number(),
  mix_hours: z.number(),
  warm_hours: z.number().nullable(),
  lead_hours: z.number(),
  start_by: z.string().nullable(),
  warnings: z.array(z.string()),
});

const bagView = z.object({
  tank: z.object({
    temperature: z.number().optional(),
    salinity: z.number().optional(),
    ph: z.number().optional(),
  }),
  shock: shockSchema,
  ammonia: z
    .object({
      is_warned: z.boolean(),
      factor: z.number(),
      text: z.string(),
      share_in_bag: z.number(),
      share_at_tank_ph: z.number(),
      free_in_bag_mg_l: z.number().nullable(),
      free_at_tank_ph_mg_l: z.number().nullable(),
    })
    .nullable(),
  plan: z.object({
    total_minutes: z.number(),
    tank_l: z.number(),
    warnings: z.array(z.string()),
    steps: z.array(
      z.object({
        step: z.string(),
        minutes: z.number(),
        litres: z.number().nullable(),
        salinity_after: z.number().nullable(),
      }),
    ),
  }),
});

const spread = z.object({ per_day: z.number(), sd: z.number() }).nullable();
const taskSchema = z.object({
  kind: z.enum(['inspection', 'dip']),
  due: z.string(),
  opens: z.string().nullable(),
  closes: z.string().nullable(),
  state: z.enum(['done', 'planned', 'due', 'late']),
  is_look_again: z.boolean().describe('because something was seen'),
});

const arrivalSchema = z.object({
  id: z.string(),
  system: z.string(),
  name: z.string(),
  source: z.string().nullable(),
  pieces: z.array(z.object({ kind: z.string(), count: z.number(), longest_cm: z.number().optional() })),
  state: z.enum(['expected', 'arrived', 'closed']),
  expected: z.string().nullable(),
  arrived: z.string().nullable(),
  water: z
    .object({
      baths: z.number(),
      bath_l: z.number(),
      tank_share: z.number(),
      rinse_l: z.number(),
      fresh_l: z.number(),
      salt_g: z.number(),
      salinity: z.number(),
      salt: z.string().nullable(),
      grams_per_litre_at_35: z.number().nullable(),
      batch: z.string().nullable().describe('made for it and not used up'),
    })
    .nullable()
    .describe('what was worked out to have ready'),
  tank_only_because: z.string().nullable().describe('why no bag water goes into the dip bath'),
  pest: z.string(),
  dips: z.array(z.string()),
  inspections: z.array(z.object({ time: z.string(), findings: z.string() })),
  runs: z.array(z.string()),
  quarantine: z
    .object({ days: z.number(), ends: z.string().nullable(), practice: z.array(z.string()) })
    .nullable()
    .describe('ends: null before they came'),
  watch: z
    .object({
      text: z.string(),
      look_for: z.string(),
      source: z.string(),
      days_measured: z.number(),
      mean_measured_c: z.number().nullable(),
      measured_share: z.number().nullable(),
      clear: z.string().nullable(),
      tasks: z.array(taskSchema),
      warnings: z.array(z.string()),
    })
    .nullable(),
  light: z
    .object({
      today: z.number().describe('day of the plan; below 1 before it begins'),
      moved: z.string().nullable().describe('when the rack was last set by the plan'),
      is_moved_today: z.boolean(),
      target_dli: z.number(),
      days: z.array(
        z.object({ day: z.number(), date: z.string(), height_cm: z.number(), par: z.number(), dli: z.number() }),
      ),
      cautions: z.array(z.string()),
    })
    .nullable(),
  demand: z
    .object({
      before: spread,
      after: spread,
      added: spread,
      tests_since: z.number(),
      watch_ends: z.string(),
      text: z.string(),
    })
    .nullable(),
});

export type ArrivalAnswer = z.infer<typeof arrivalSchema>;

export type PreparedAnswer = z.infer<typeof preparedView>;

export type BagAnswer = z.infer<typeof bagView>;

const response = { 200: arrivalSchema };

export const arrivalApi = {
  'POST /api/arrivals/prepare': {
    summary: 'Water, salt and time to have ready for new corals',
    tags,
    body: prepareSchema,
    response: { 200: preparedView },
  },
  'POST /api/arrivals': {
    summary: 'Log new corals: expected, or here already',
    tags,
    body: arrivalEntrySchema,
    response: { 201: arrivalSchema },
  },
  'GET /api/arrivals': { summary: 'All arrivals', tags, response: { 200: z.array(arrivalSchema) } },
  'GET /api/arrivals/:id': {
    summary: 'One arrival: watch for pests, light plan, what it added to the use',
    tags,
    params: byId,
    response,
  },
  'POST /api/arrivals/:id/arrived': {
    summary: 'Log that they are here: the demand estimate expects a step',
    tags,
    params: byId,
    body: arrivedSchema,
    response,
  },
  'POST /api/arrivals/:id/close': {
    summary: 'Close this arrival',
    tags,
    params: byId,
    body: nothing,
    response,
  },
  'DELETE /api/arrivals/:id': {
    summary: 'Delete an arrival entered by mistake; refused while its pieces soak',
    tags,
    params: byId,
    response: { 204: z.null() },
  },
  'POST /api/arrivals/:id/pest': {
    summary: 'Log the pest that was found: the watch follows its biology',
    tags,
    params: byId,
    body: pestSchema,
    response,
  },
  'POST /api/arrivals/:id/dips': {
    summary: 'Log a dip done without a checklist',
    tags,
    params: byId,
    body: dippedSchema,
    response,
  },
  'POST /api/arrivals/:id/inspections': {
    summary: 'Log an inspection with its findings',
    tags,
    params: byId,
    body: seenSchema,
    response,
  },
  'DELETE /api/arrivals/:id/dips/:time': {
    summary: 'Take back a dip that never was: it no longer counts',
    tags,
    params: eventOfArrival,
    response,
  },
  'DELETE /api/arrivals/:id/inspections/:time': {
    summary: 'Take back an inspection that never was: it no longer counts',
    tags,
    params: eventOfArrival,
    response,
  },
  'POST /api/arrivals/:id/quarantine': {
    summary: 'Set the days in quarantine; its end is on the Now list',
    tags,
    params: byId,
    body: quarantineSchema,
    response,
  },
  'POST /api/arrivals/:id/shock': {
    summary: 'Bag against tank: shock, ammonia, and how to bring them over',
    tags,
    params: byId,
    body: bagSchema,
    response: { 200: bagView },
  },
  'POST /api/arrivals/:id/light': {
    summary: 'Make the light plan: the height of the rack for each day',
    tags,
    params: byId,
    body: lightSchema,
    response,
  },
  'POST /api/arrivals/:id/light/moved': {
    summary: "Log that the rack is at today's height",
    tags,
    params: byId,
    body: nothing,
    response,
  },
  'POST /api/arrivals/:id/light/hold': {
    summary: "Stay at today's light for some days",
    tags,
    params: byId,
    body: holdSchema,
    response,
  },
  'POST /api/arrivals/:id/light/step-back': {
    summary: 'Go back to the light of some days ago',
    tags,
    params: byId,
    body: stepBackSchema,
    response,
  },
};
