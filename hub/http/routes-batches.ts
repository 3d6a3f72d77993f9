import * as z from 'zod';
import { batchCautions } from '#rules/mixing/salinity-correction.ts';
import type { Batch } from '../judgement/water/batches.ts';
import { planBatch } from '../judgement/water/plan-batch.ts';
import {
  batchMoreSchema,
  batchPlanSchema,
  batchSchema,
  batchWaterSchema,
  changeDoneSchema,
  changePlanSchema,
} from '../model/entries/arrival-schemas.ts';
import { matchSchema, matchView } from './arrival-view.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const tags = ['batches'];
const batchId = z.object({ id: z.string().min(1).max(40) });
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

export function addBatchRoutes(server: TypedServer, { clock, reception }: HttpParts): void {
  const { batches, changes } = reception;
  const now = () => clock.nowMs();
  const response = { 200: batchView };

  server.post(
    '/api/batches/plan',
    {
      schema: {
        summary: 'Salt for so much water, or fresh water for what is too strong',
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
    },
    (request) => {
      const plan = planBatch(batches, request.body);
      return {
        ...{ salt_g: plan.salt_g, fresh_l: plan.fresh_l, grams_per_litre_at_35: plan.gramsPerLitreAt35 },
        ...{ salinity_sd: plan.salinitySd, batches_measured: plan.batchesMeasured, cautions: [...batchCautions] },
      };
    },
  );

  server.post(
    '/api/batches',
    {
      schema: {
        summary: 'Salt water was made up',
        tags,
        body: batchSchema,
        response: { 201: batchView.extend({ cautions: z.array(z.string()) }) },
      },
    },
    (request, reply) => {
      const batch = batches.make(request.body, now());
      void reply.code(201);
      return { ...viewOf(batch), cautions: [...batchCautions] };
    },
  );

  server.get(
    '/api/batches',
    { schema: { summary: 'All batches, oldest first', tags, response: { 200: z.array(batchView) } } },
    () => batches.all().map(viewOf),
  );

  server.post(
    '/api/batches/:id/water',
    { schema: { summary: 'What was measured in a batch', tags, params: batchId, body: batchWaterSchema, response } },
    (request) => viewOf(batches.measure(request.params.id, request.body, now())),
  );

  server.post(
    '/api/batches/:id/more',
    {
      schema: { summary: 'Salt or fresh water went in later', tags, params: batchId, body: batchMoreSchema, response },
    },
    (request) => viewOf(batches.more(request.params.id, request.body, now())),
  );

  server.get(
    '/api/batches/:id/match',
    {
      schema: {
        summary: 'Whether it matches its tank, by probes or tests of both',
        tags,
        params: batchId,
        response: { 200: matchSchema },
      },
    },
    (request) => matchView(batches.match(request.params.id, now())),
  );

  server.get(
    '/api/salts/:salt',
    {
      schema: {
        summary: "Strength of a salt by one's own batches",
        tags,
        params: z.object({ salt: z.string().min(1).max(60) }),
        response: {
          200: z.object({ grams_per_litre_at_35: z.number(), sd_g_l: z.number(), batches: z.number() }).nullable(),
        },
      },
    },
    (request) => {
      const strength = batches.strength(request.params.salt);
      if (strength === undefined) return null;
      const { gramsPerLitreAt35, sd_g_L, residuals } = strength;
      return { grams_per_litre_at_35: gramsPerLitreAt35, sd_g_l: sd_g_L, batches: residuals.length };
    },
  );

  server.post(
    '/api/water-changes/plan',
    {
      schema: {
        summary: 'What a water change will do, before it is done',
        tags,
        body: changePlanSchema,
        response: { 200: planView },
      },
    },
    (request) => {
      const { tank, incoming, after, largest, byDay, warnings } = changes.plan(request.body, now());
      return {
        ...{ tank, incoming, after: after ?? null, warnings },
        ...{ largest_in_a_day_l: largest.exchangedL, limited_by: largest.limitedBy ?? null },
        by_day:
          byDay?.kind === 'plan'
            ? byDay.days.map((day) => ({ exchanged_l: day.exchangedL, before: day.before, after: day.after }))
            : null,
        no_plan: byDay?.kind === 'no_plan' ? byDay.why : null,
      };
    },
  );

  server.post(
    '/api/water-changes/done',
    {
      schema: {
        summary: 'A water change with water of a batch was done',
        tags,
        body: changeDoneSchema,
        response: { 201: z.object({ id: z.number(), expected: known }) },
      },
    },
    (request, reply) => {
      const done = changes.done(request.body, now());
      void reply.code(201);
      return done;
    },
  );

  server.get(
    '/api/water-changes/:id/effect',
    {
      schema: {
        summary: 'What a water change really did, beside what was expected',
        tags,
        params: z.object({ id: z.coerce.number().int().positive() }),
        response: { 200: effectView },
      },
    },
    (request) =>
      changes.effect(request.params.id, now()).map(({ metric, before, expected, after, by }) => ({
        metric,
        before,
        expected: expected ?? null,
        after,
        by,
      })),
  );
}

function viewOf(batch: Batch): z.infer<typeof batchView> {
  const { id, system, madeMs, litres, usedL, salt, salt_g, measuredMs, water, uses } = batch;
  const instant = (timeMs: number) => new Date(timeMs).toISOString();
  return {
    ...{ id, system, made: instant(madeMs), litres, left_l: litres - usedL, salt, salt_g },
    ...{ measured: measuredMs === undefined ? null : instant(measuredMs), water },
    uses: uses.map((use) => ({
      ...{ time: instant(use.timeMs), litres: use.litres, water_change: use.waterChange ?? null },
    })),
  };
}
