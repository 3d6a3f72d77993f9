import { z } from 'zod';
import { demandAnalytes } from '#rules/trend/demand-facts.ts';
import { planEntrySchema, refillEntrySchema } from '../entries/schemas.ts';
import type { HttpParts, TypedServer } from './parts.ts';
import { sendProblem } from './problem.ts';

const entered = z.object({ id: z.number() });

export function addEstimateRoutes(server: TypedServer, parts: HttpParts): void {
  server.get(
    '/api/estimates/:system/:analyte',
    {
      schema: {
        summary: 'Level, demand and the week to come, with every test, its weight and the doses between in plain words',
        tags: ['advice'],
        params: z.object({ system: z.string(), analyte: z.enum(demandAnalytes) }),
      },
    },
    (request, reply) => {
      const { system, analyte } = request.params;
      const explanation = parts.explain(system, analyte);
      if (explanation !== undefined) return explanation;
      return sendProblem(reply, {
        type: 'about:blank',
        title: 'No such system',
        status: 404,
        detail: `no system "${system}"`,
      });
    },
  );

  server.get(
    '/api/containers/:system',
    {
      schema: {
        summary: 'How full the containers are and how many days they last',
        tags: ['advice'],
        params: z.object({ system: z.string() }),
      },
    },
    (request) => parts.containers(request.params.system),
  );

  server.post(
    '/api/plan',
    {
      schema: {
        summary: 'Change what is dosed of a stock every day; 0 mL ends it',
        tags: ['entries'],
        body: planEntrySchema,
        response: { 201: entered },
      },
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.plan(request.body, parts.clock.nowMs());
    },
  );

  server.post(
    '/api/refills',
    {
      schema: {
        summary: 'A container was filled: to its full size, or to so many millilitres',
        tags: ['entries'],
        body: refillEntrySchema,
        response: { 201: entered },
      },
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.refill(request.body, parts.clock.nowMs());
    },
  );
}
