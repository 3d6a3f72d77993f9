import { dipCautions, emergencyCaution } from '#rules/arrivals/arrival-cautions.ts';
import { protocolFaults } from '#rules/arrivals/protocol.ts';
import { arrivalApi } from '../api/arrivals.ts';
import { protocolApi } from '../api/protocols.ts';
import type { Arrival } from '../judgement/arrivals/arrivals-state.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { arrivalView, shockView } from './views/arrival-view.ts';

export function addArrivalRoutes(server: TypedServer, { clock, config, livestock }: HttpParts): void {
  const { arrivals, runs, protocols, pests, day } = livestock;
  const now = () => clock.nowMs();
  const view = (arrival: Arrival) => arrivalView(livestock, arrival, now(), config.site.timezone);

  server.get('/api/protocols', { schema: protocolApi['GET /api/protocols'] }, () => ({
    protocols: protocols.known.map((protocol) => ({
      ...protocol,
      may_be_run: protocolFaults(protocol).length === 0,
    })),
    problems: protocols.problems,
    cautions: [...dipCautions],
    emergency: emergencyCaution,
  }));

  server.get('/api/pests', { schema: protocolApi['GET /api/pests'] }, () => ({
    pests: [...pests.known.values()].map(({ id, label, lookFor, source }) => ({
      id,
      label,
      look_for: lookFor,
      source,
    })),
    problems: pests.problems,
  }));

  server.post('/api/arrivals/prepare', { schema: arrivalApi['POST /api/arrivals/prepare'] }, (request) => {
    const water = day.prepare(request.body, now());
    return {
      baths: water.baths,
      bath_l: water.bathL,
      tank_share: water.tankShare,
      bag_share: water.bagShare,
      tank_l: water.tankL,
      bag_l: water.bagL,
      replace_l: water.replaceL,
      rinse_l: water.rinseL,
      spare_l: water.spareL,
      fresh_l: water.freshL,
      salinity: water.salinity,
      salt_g: water.salt_g,
      salinity_sd: water.salinitySd,
      mix_hours: water.mixHours,
      warm_hours: water.warmHours ?? null,
      lead_hours: water.leadHours,
      warnings: water.warnings,
      start_by: water.startByMs === undefined ? null : new Date(water.startByMs).toISOString(),
    };
  });

  server.post('/api/arrivals', { schema: arrivalApi['POST /api/arrivals'] }, (request, reply) => {
    const arrival = day.plan(request.body, now());
    void reply.code(201);
    return view(arrival);
  });

  server.get('/api/arrivals', { schema: arrivalApi['GET /api/arrivals'] }, () => arrivals.all().map(view));

  server.get('/api/arrivals/:id', { schema: arrivalApi['GET /api/arrivals/:id'] }, (request) =>
    view(arrivals.find(request.params.id)),
  );

  server.post('/api/arrivals/:id/arrived', { schema: arrivalApi['POST /api/arrivals/:id/arrived'] }, (request) =>
    view(day.arrived(request.params.id, request.body.time, now())),
  );

  server.post('/api/arrivals/:id/close', { schema: arrivalApi['POST /api/arrivals/:id/close'] }, (request) =>
    view(arrivals.close(request.params.id, now())),
  );

  server.delete('/api/arrivals/:id', { schema: arrivalApi['DELETE /api/arrivals/:id'] }, (request, reply) => {
    arrivals.remove(request.params.id, now());
    void reply.code(204);
    return null;
  });

  server.post('/api/arrivals/:id/pest', { schema: arrivalApi['POST /api/arrivals/:id/pest'] }, (request) =>
    view(arrivals.setPest(request.params.id, request.body.pest)),
  );

  server.post('/api/arrivals/:id/dips', { schema: arrivalApi['POST /api/arrivals/:id/dips'] }, (request) =>
    view(arrivals.dipped(request.params.id, request.body.time, now())),
  );

  server.post(
    '/api/arrivals/:id/inspections',
    { schema: arrivalApi['POST /api/arrivals/:id/inspections'] },
    (request) => {
      return view(arrivals.inspected(request.params.id, request.body, now()));
    },
  );

  server.delete(
    '/api/arrivals/:id/dips/:time',
    { schema: arrivalApi['DELETE /api/arrivals/:id/dips/:time'] },
    (request) => view(arrivals.takeBackDip(request.params.id, request.params.time, now())),
  );

  server.delete(
    '/api/arrivals/:id/inspections/:time',
    { schema: arrivalApi['DELETE /api/arrivals/:id/inspections/:time'] },
    (request) => view(arrivals.takeBackInspection(request.params.id, request.params.time, now())),
  );

  server.post('/api/arrivals/:id/quarantine', { schema: arrivalApi['POST /api/arrivals/:id/quarantine'] }, (request) =>
    view(arrivals.setQuarantine(request.params.id, request.body.days)),
  );

  server.post('/api/arrivals/:id/shock', { schema: arrivalApi['POST /api/arrivals/:id/shock'] }, (request) => {
    const { tank, shock, ammonia, plan } = runs.checkBag(request.params.id, request.body, now());
    return {
      tank,
      shock: shockView(shock),
      ammonia:
        ammonia === undefined
          ? null
          : {
              is_warned: ammonia.isWarned,
              factor: ammonia.factor,
              text: ammonia.text,
              share_in_bag: ammonia.shareInBag,
              share_at_tank_ph: ammonia.shareAtTankPh,
              free_in_bag_mg_l: ammonia.freeInBag_mg_L ?? null,
              free_at_tank_ph_mg_l: ammonia.freeAtTankPh_mg_L ?? null,
            },
      plan: {
        total_minutes: plan.totalMinutes,
        tank_l: plan.tankL,
        warnings: plan.warnings,
        steps: plan.steps.map((step) =>
          step.kind === 'float'
            ? { step: step.kind, minutes: step.minutes, litres: null, salinity_after: null }
            : {
                step: step.kind,
                minutes: step.minutes,
                litres: step.litres,
                salinity_after: step.salinityAfter ?? null,
              },
        ),
      },
    };
  });

  server.post('/api/arrivals/:id/light', { schema: arrivalApi['POST /api/arrivals/:id/light'] }, (request) =>
    view(arrivals.layLight(request.params.id, request.body, now())),
  );

  server.post(
    '/api/arrivals/:id/light/moved',
    { schema: arrivalApi['POST /api/arrivals/:id/light/moved'] },
    (request) => view(arrivals.lightMoved(request.params.id, now())),
  );

  server.post(
    '/api/arrivals/:id/light/hold',
    { schema: arrivalApi['POST /api/arrivals/:id/light/hold'] },
    (request) => {
      const change = { kind: 'hold' as const, forDays: request.body.for_days };
      return view(arrivals.changeLight(request.params.id, change, now()));
    },
  );

  server.post(
    '/api/arrivals/:id/light/step-back',
    { schema: arrivalApi['POST /api/arrivals/:id/light/step-back'] },
    (request) => {
      const { by_days, for_days } = request.body;
      const change = { kind: 'step_back' as const, byDays: by_days, forDays: for_days };
      return view(arrivals.changeLight(request.params.id, change, now()));
    },
  );
}
