import { batchCautions } from '#rules/mixing/salinity-correction.ts';
import { type BatchAnswer, batchApi } from '../api/batches.ts';
import type { Batch } from '../judgement/water/batches.ts';
import { planBatch } from '../judgement/water/plan-batch.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { matchView } from './views/arrival-view.ts';

export function addBatchRoutes(server: TypedServer, { clock, livestock }: HttpParts): void {
  const { batches, changes } = livestock;
  const now = () => clock.nowMs();

  server.post(
    '/api/batches/plan',
    {
      schema: batchApi['POST /api/batches/plan'],
    },
    (request) => {
      const plan = planBatch(batches, request.body);
      return {
        salt_g: plan.salt_g,
        fresh_l: plan.fresh_l,
        grams_per_litre_at_35: plan.gramsPerLitreAt35,
        salinity_sd: plan.salinitySd,
        batches_measured: plan.batchesMeasured,
        cautions: [...batchCautions],
      };
    },
  );

  server.post(
    '/api/batches',
    {
      schema: batchApi['POST /api/batches'],
    },
    (request, reply) => {
      const batch = batches.make(request.body, now());
      void reply.code(201);
      return { ...viewOf(batch), cautions: [...batchCautions] };
    },
  );

  server.get('/api/batches', { schema: batchApi['GET /api/batches'] }, () => batches.all().map(viewOf));

  server.post('/api/batches/:id/water', { schema: batchApi['POST /api/batches/:id/water'] }, (request) =>
    viewOf(batches.measure(request.params.id, request.body, now())),
  );

  server.post(
    '/api/batches/:id/more',
    {
      schema: batchApi['POST /api/batches/:id/more'],
    },
    (request) => viewOf(batches.more(request.params.id, request.body, now())),
  );

  server.get(
    '/api/batches/:id/match',
    {
      schema: batchApi['GET /api/batches/:id/match'],
    },
    (request) => matchView(batches.match(request.params.id, now())),
  );

  server.get(
    '/api/salts/:salt',
    {
      schema: batchApi['GET /api/salts/:salt'],
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
      schema: batchApi['POST /api/water-changes/plan'],
    },
    (request) => {
      const { tank, incoming, after, largest, byDay, warnings } = changes.plan(request.body, now());
      return {
        tank,
        incoming,
        after: after ?? null,
        warnings,
        largest_in_a_day_l: largest.exchangedL,
        limited_by: largest.limitedBy ?? null,
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
      schema: batchApi['POST /api/water-changes/done'],
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
      schema: batchApi['GET /api/water-changes/:id/effect'],
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

function viewOf(batch: Batch): BatchAnswer {
  const { id, system, madeMs, litres, usedL, salt, salt_g, measuredMs, water, uses } = batch;
  const instant = (timeMs: number) => new Date(timeMs).toISOString();
  return {
    id,
    system,
    made: instant(madeMs),
    litres,
    left_l: litres - usedL,
    salt,
    salt_g,
    measured: measuredMs === undefined ? null : instant(measuredMs),
    water,
    uses: uses.map((use) => ({
      time: instant(use.timeMs),
      litres: use.litres,
      water_change: use.waterChange ?? null,
    })),
  };
}
