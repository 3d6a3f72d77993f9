import { z } from 'zod';
import { doseEntrySchema, testEntrySchema, waterChangeEntrySchema } from '../entries/schemas.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const entered = z.object({ id: z.number() });

export function addEntryRoutes(server: TypedServer, parts: HttpParts): void {
  const now = () => parts.clock.nowMs();

  server.post(
    '/api/tests',
    {
      schema: {
        summary: 'Enter a test; 409 asks when the value looks like a slip: send it again with confirmed: true',
        tags: ['entries'],
        body: testEntrySchema,
        response: { 201: z.object({ id: z.number(), analyte: z.string(), value: z.number() }) },
      },
    },
    (request, reply) => {
      const { id, body } = parts.entries.test(request.body, now());
      void reply.code(201);
      return { id, analyte: body.analyte, value: body.value };
    },
  );

  server.post(
    '/api/doses',
    {
      schema: {
        summary: 'Enter a dose that was given',
        tags: ['entries'],
        body: doseEntrySchema,
        response: { 201: entered },
      },
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.dose(request.body, now());
    },
  );

  server.post(
    '/api/water-changes',
    {
      schema: {
        summary: 'Enter a water change',
        tags: ['entries'],
        body: waterChangeEntrySchema,
        response: { 201: entered },
      },
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.waterChange(request.body, now());
    },
  );

  server.post(
    '/api/entries/:id/withdraw',
    {
      schema: {
        summary: 'Take an entry back: it stays in the journal and no longer counts',
        tags: ['entries'],
        params: z.object({ id: z.coerce.number().int().positive() }),
        body: z.strictObject({ by: z.string().min(1).max(60).default('page') }),
        response: { 201: entered },
      },
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.withdraw(request.params.id, request.body.by, now());
    },
  );

  server.get(
    '/api/entries',
    {
      schema: {
        summary: 'Tests, doses and water changes, newest first',
        tags: ['entries'],
        querystring: z.object({
          system: z.string().optional(),
          kind: z
            .enum([
              'test',
              'dose',
              'water_change',
              'calibration',
              'note',
              'alarm',
              'advice',
              'arrival',
              'piece',
              'batch',
            ])
            .optional(),
          limit: z.coerce.number().int().min(1).max(1000).default(100),
        }),
      },
    },
    (request) => {
      const { system, kind, limit } = request.query;
      return parts.store
        .journal({
          order: 'newest',
          limit,
          ...(system === undefined ? {} : { system }),
          ...(kind === undefined ? {} : { kind }),
        })
        .map((entry) => ({ ...entry, time: new Date(entry.timeMs).toISOString() }));
    },
  );
}
