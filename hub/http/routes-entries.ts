import * as z from 'zod';
import { doseEntrySchema, testEntrySchema, waterChangeEntrySchema } from '../flow/entries/schemas.ts';
import { questionDose, questionWaterChange } from '../judgement/estimate/entry-doubt.ts';
import type { SystemConfig } from '../model/config/schema.ts';
import { readJournal } from '../model/journal/journal.ts';
import { type EntryDoubt, Questioned } from '../model/refusals/questioned.ts';
import type { HttpParts, TypedServer } from './parts.ts';

const saved = z.string().describe('what was saved in words, with its unit');
const entered = z.object({ id: z.number(), saved });
const confirmed = z.boolean().optional().describe('true: it was questioned and is meant as given');

export function addEntryRoutes(server: TypedServer, parts: HttpParts): void {
  const now = () => parts.clock.nowMs();

  /** Asks back before anything is stored, unless the person has said that it is meant so. */
  function doubt<Entry extends { system: string; confirmed?: boolean | undefined }>(
    { confirmed: isMeant, ...entry }: Entry,
    question: (system: SystemConfig, entry: Omit<Entry, 'confirmed'>) => EntryDoubt | undefined,
  ): Omit<Entry, 'confirmed'> {
    const system = parts.config.systems.find(({ id }) => id === entry.system);
    const ask = isMeant === true || system === undefined ? undefined : question(system, entry);
    if (ask !== undefined) throw new Questioned(ask);
    return entry;
  }

  server.post(
    '/api/tests',
    {
      schema: {
        summary: 'Enter a test; 409 asks when the value looks like a slip: send it again with confirmed: true',
        tags: ['entries'],
        body: testEntrySchema,
        response: { 201: z.object({ id: z.number(), analyte: z.string(), value: z.number(), saved }) },
      },
    },
    (request, reply) => {
      const { id, body, saved: words } = parts.entries.test(request.body, now());
      void reply.code(201);
      return { id, analyte: body.analyte, value: body.value, saved: words };
    },
  );

  server.post(
    '/api/doses',
    {
      schema: {
        summary: 'Enter a dose that was given; 409 asks when it looks like a slip: send it again with confirmed: true',
        tags: ['entries'],
        body: doseEntrySchema.safeExtend({ confirmed }),
        response: { 201: entered },
      },
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.dose(doubt(request.body, questionDose), now());
    },
  );

  server.post(
    '/api/water-changes',
    {
      schema: {
        summary: 'Enter a water change; 409 asks when it looks like a slip: send it again with confirmed: true',
        tags: ['entries'],
        body: waterChangeEntrySchema.extend({ confirmed }),
        response: { 201: entered },
      },
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.waterChange(doubt(request.body, questionWaterChange), now());
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
        response: { 201: entered.omit({ saved: true }) },
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
        summary: 'What is in the journal, newest first; what was corrected or taken back is left out',
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
              'plan',
              'refill',
            ])
            .optional(),
          limit: z.coerce.number().int().min(1).max(1000).default(100),
        }),
      },
    },
    (request) => {
      const { system, kind, limit } = request.query;
      const asked = {
        ...(system === undefined ? {} : { system }),
        ...(kind === undefined ? {} : { kind }),
      };
      return readJournal(parts.store, { order: 'newest', limit, ...asked }).map((entry) => ({
        ...entry,
        time: new Date(entry.timeMs).toISOString(),
      }));
    },
  );
}
