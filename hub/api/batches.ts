import * as z from 'zod';
import {
  batchMoreSchema,
  batchPlanSchema,
  batchSchema,
  batchWaterSchema,
  changeDoneSchema,
  changePlanSchema,
} from '../model/entries/arrival-schemas.ts';
import { byId } from './by-id.ts';

const tags = ['batches'];

const known = z.record(z.string(), z.number());

const batchView = z.object({
  id: z.string(),
  system: z.string(),
  made: z.string(),
  litres: z.number(),
  left_l: z.number(),
  salt: z.string(),
  salt_g: z.number(),
  measured: z.string().nullable(),
  water: known,
  uses: z.array(z.object({ time: z.string(), litres: z.number(), water_change: z.number().nullable() })),
});

const planView = z.object({
  tank: known,
  incoming: known,
  after: known.nullable().describe('the tank after one change of the litres asked for'),
  largest_in_a_day_l: z.number(),
  limited_by: z.string().nullable(),
  by_day: z.array(z.object({ exchanged_l: z.number(), before: z.number(), after: z.number() })).nullable(),
  no_plan: z.string().nullable(),
  warnings: z.array(z.string()),
});

const effectView = z.array(
  z.object({
    metric: z.string(),
    before: z.number(),
    expected: z.number().nullable(),
    after: z.number(),
    by: z.enum(['probe', 'test']),
  }),
);

export type BatchAnswer = z.infer<typeof batchView>;

export type ChangePlanAnswer = z.infer<typeof planView>;

export type ChangeEffectAnswer = z.infer<typeof effectView>;

export const matchSchema = z.object({
  is_ready: z.boolean(),
  metrics: z.array(z.object({ metric: z.string(), verdict: z.string(), text: z.string() })),
});
export type MatchAnswer = z.infer<typeof matchSchema>;

const response = { 200: batchView };

export const batchApi = {
  'POST /api/batches/plan': {
    summary: 'Salt for this much water, or fresh water to dilute a batch that is too strong',
    tags,
    body: batchPlanSchema,
    response: {
      200: z.object({
        salt_g: z.number(),
        fresh_l: z.number().describe('to pour on top when the water at hand is too strong'),
        grams_per_litre_at_35: z.number(),
        salinity_sd: z.number(),
        batches_measured: z.number(),
        cautions: z.array(z.string()),
      }),
    },
  },
  'POST /api/batches': {
    summary: 'Log salt water that was made up',
    tags,
    body: batchSchema,
    response: { 201: batchView.extend({ cautions: z.array(z.string()) }) },
  },
  'GET /api/batches': { summary: 'All batches, oldest first', tags, response: { 200: z.array(batchView) } },
  'POST /api/batches/:id/water': {
    summary: 'Log what was measured in a batch',
    tags,
    params: byId,
    body: batchWaterSchema,
    response,
  },
  'POST /api/batches/:id/more': {
    summary: 'Log salt or fresh water added later',
    tags,
    params: byId,
    body: batchMoreSchema,
    response,
  },
  'GET /api/batches/:id/match': {
    summary: 'Whether it matches its tank, by probes or tests of both',
    tags,
    params: byId,
    response: { 200: matchSchema },
  },
  'GET /api/salts/:salt': {
    summary: "Strength of a salt by the keeper's own batches",
    tags,
    params: z.object({ salt: z.string().min(1).max(60) }),
    response: {
      200: z.object({ grams_per_litre_at_35: z.number(), sd_g_l: z.number(), batches: z.number() }).nullable(),
    },
  },
  'POST /api/water-changes/plan': {
    summary: 'What a water change will do, before it is done',
    tags,
    body: changePlanSchema,
    response: { 200: planView },
  },
  'POST /api/water-changes/done': {
    summary: 'Log a water change done with a batch',
    tags,
    body: changeDoneSchema,
    response: { 201: z.object({ id: z.number(), expected: known }) },
  },
  'GET /api/water-changes/:id/effect': {
    summary: 'What a water change really did, beside what was expected',
    tags,
    params: z.object({ id: z.coerce.number().int().positive() }),
    response: { 200: effectView },
  },
};
