import * as z from 'zod';
import { dipCautions, emergencyCaution } from '#rules/arrivals/arrival-cautions.ts';
import { type Protocol, protocolFaults } from '#rules/arrivals/protocol.ts';
import type { Arrival } from '../judgement/arrivals/arrivals-state.ts';
import {
  arrivalEntrySchema,
  arrivedSchema,
  dippedSchema,
  holdSchema,
  lightSchema,
  pestSchema,
  prepareSchema,
  seenSchema,
  shockSchema,
  stepBackSchema,
} from '../model/entries/arrival-schemas.ts';
import { arrivalSchema, arrivalView, shockView } from './arrival-view.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const tags = ['arrivals'];
const arrivalId = z.object({ id: z.string().min(1).max(40) });
const nothing = z.strictObject({});

/** The answer of `/api/protocols`. */
export type ProtocolsAnswer = {
  protocols: (Protocol & { may_be_run: boolean })[];
  problems: string[];
  cautions: string[];
  emergency: string;
};

export function addArrivalRoutes(server: TypedServer, { clock, config, reception }: HttpParts): void {
  const { arrivals, runs, protocols, day } = reception;
  const now = () => clock.nowMs();
  const view = (arrival: Arrival) => arrivalView(reception, arrival, now(), config.site.timezone);
  const response = { 200: arrivalSchema };

  server.get(
    '/api/protocols',
    { schema: { summary: 'Protocols, and what is wrong with files that were left out', tags } },
    (): ProtocolsAnswer => ({
      protocols: protocols.known.map((protocol) => ({
        ...protocol,
        may_be_run: protocolFaults(protocol).length === 0,
      })),
      problems: protocols.problems,
      cautions: [...dipCautions],
      emergency: emergencyCaution,
    }),
  );

  server.post(
    '/api/arrivals/prepare',
    { schema: { summary: 'Water, salt and time to have ready for new corals', tags, body: prepareSchema } },
    (request) => {
      const water = day.prepare(request.body, now());
      return {
        ...{ baths: water.baths, bath_l: water.bathL, tank_share: water.tankShare, bag_share: water.bagShare },
        ...{ tank_l: water.tankL, bag_l: water.bagL, replace_l: water.replaceL, rinse_l: water.rinseL },
        ...{ spare_l: water.spareL, fresh_l: water.freshL, salinity: water.salinity, salt_g: water.salt_g },
        ...{ salinity_sd: water.salinitySd, mix_hours: water.mixHours, warm_hours: water.warmHours ?? null },
        ...{ lead_hours: water.leadHours, warnings: water.warnings },
        start_by: water.startByMs === undefined ? null : new Date(water.startByMs).toISOString(),
      };
    },
  );

  server.post(
    '/api/arrivals',
    {
      schema: {
        summary: 'New corals are expected, or are here',
        tags,
        body: arrivalEntrySchema,
        response: { 201: arrivalSchema },
      },
    },
    (request, reply) => {
      const arrival = day.plan(request.body, now());
      void reply.code(201);
      return view(arrival);
    },
  );

  server.get(
    '/api/arrivals',
    { schema: { summary: 'All arrivals', tags, response: { 200: z.array(arrivalSchema) } } },
    () => arrivals.all().map(view),
  );

  server.get(
    '/api/arrivals/:id',
    {
      schema: {
        summary: 'One arrival: watch for pests, light plan, what it added to the use',
        tags,
        params: arrivalId,
        response,
      },
    },
    (request) => view(arrivals.find(request.params.id)),
  );

  server.post(
    '/api/arrivals/:id/arrived',
    {
      schema: {
        summary: 'They are here: the demand estimate expects a step',
        tags,
        params: arrivalId,
        body: arrivedSchema,
        response,
      },
    },
    (request) => view(day.arrived(request.params.id, request.body.time, now())),
  );

  server.post(
    '/api/arrivals/:id/close',
    { schema: { summary: 'Close this arrival', tags, params: arrivalId, body: nothing, response } },
    (request) => view(arrivals.close(request.params.id, now())),
  );

  server.delete(
    '/api/arrivals/:id',
    {
      schema: {
        summary: 'It was entered by mistake; refused while its pieces soak',
        tags,
        params: arrivalId,
        response: { 204: z.null() },
      },
    },
    (request, reply) => {
      arrivals.remove(request.params.id, now());
      void reply.code(204);
      return null;
    },
  );

  server.post(
    '/api/arrivals/:id/pest',
    {
      schema: {
        summary: 'What was found: the watch follows its biology',
        tags,
        params: arrivalId,
        body: pestSchema,
        response,
      },
    },
    (request) => view(arrivals.setPest(request.params.id, request.body.pest)),
  );

  server.post(
    '/api/arrivals/:id/dips',
    {
      schema: {
        summary: 'A dip that was done without a checklist',
        tags,
        params: arrivalId,
        body: dippedSchema,
        response,
      },
    },
    (request) => view(arrivals.dipped(request.params.id, request.body.time, now())),
  );

  server.post(
    '/api/arrivals/:id/inspections',
    { schema: { summary: 'An inspection with its findings', tags, params: arrivalId, body: seenSchema, response } },
    (request) => {
      const { findings, time } = request.body;
      return view(arrivals.inspected(request.params.id, findings, time, now()));
    },
  );

  server.post(
    '/api/arrivals/:id/shock',
    {
      schema: {
        summary: 'Bag against tank: shock, ammonia, and how to bring them over',
        tags,
        params: arrivalId,
        body: shockSchema,
      },
    },
    (request) => {
      const { tank, shock, ammonia, plan } = runs.checkBag(request.params.id, request.body, now());
      return {
        ...{ tank, shock: shockView(shock) },
        ammonia:
          ammonia === undefined
            ? null
            : {
                ...{ is_warned: ammonia.isWarned, factor: ammonia.factor, text: ammonia.text },
                ...{ share_in_bag: ammonia.shareInBag, share_at_tank_ph: ammonia.shareAtTankPh },
                free_in_bag_mg_l: ammonia.freeInBag_mg_L ?? null,
                free_at_tank_ph_mg_l: ammonia.freeAtTankPh_mg_L ?? null,
              },
        plan: {
          ...{ total_minutes: plan.totalMinutes, tank_l: plan.tankL, warnings: plan.warnings },
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
    },
  );

  server.post(
    '/api/arrivals/:id/light',
    {
      schema: {
        summary: 'Lay the light plan: the height of the rack for each day',
        tags,
        params: arrivalId,
        body: lightSchema,
        response,
      },
    },
    (request) => view(arrivals.layLight(request.params.id, request.body, now())),
  );

  server.post(
    '/api/arrivals/:id/light/moved',
    { schema: { summary: 'The rack stands at the height of today', tags, params: arrivalId, body: nothing, response } },
    (request) => view(arrivals.lightMoved(request.params.id, now())),
  );

  server.post(
    '/api/arrivals/:id/light/hold',
    { schema: { summary: "Stay at today's light for some days", tags, params: arrivalId, body: holdSchema, response } },
    (request) => {
      const change = { kind: 'hold' as const, forDays: request.body.for_days };
      return view(arrivals.changeLight(request.params.id, change, now()));
    },
  );

  server.post(
    '/api/arrivals/:id/light/step-back',
    {
      schema: {
        summary: 'Back to the light of some days before',
        tags,
        params: arrivalId,
        body: stepBackSchema,
        response,
      },
    },
    (request) => {
      const { by_days, for_days } = request.body;
      const change = { kind: 'step_back' as const, byDays: by_days, forDays: for_days };
      return view(arrivals.changeLight(request.params.id, change, now()));
    },
  );
}
