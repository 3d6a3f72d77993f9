import { defined } from '#rules/plain-data/defined.ts';
import { entryApi } from '../api/entries.ts';
import { questionDose, questionWaterChange } from '../judgement/estimate/entry-doubt.ts';
import type { SystemConfig } from '../model/config/schema.ts';
import { readJournal } from '../model/journal/journal.ts';
import { type EntryDoubt, Questioned } from '../model/refusals/questioned.ts';
import type { HttpParts, TypedServer } from './parts.ts';

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
      schema: entryApi['POST /api/tests'],
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
      schema: entryApi['POST /api/doses'],
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.dose(doubt(request.body, questionDose), now());
    },
  );

  server.post(
    '/api/water-changes',
    {
      schema: entryApi['POST /api/water-changes'],
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.waterChange(doubt(request.body, questionWaterChange), now());
    },
  );

  server.post(
    '/api/entries/:id/withdraw',
    {
      schema: entryApi['POST /api/entries/:id/withdraw'],
    },
    (request, reply) => {
      void reply.code(201);
      return parts.entries.withdraw(request.params.id, request.body.by, now());
    },
  );

  server.get(
    '/api/entries',
    {
      schema: entryApi['GET /api/entries'],
    },
    (request) => {
      const { system, kind, limit } = request.query;
      const asked = {
        ...defined({ system, kind }),
      };
      return readJournal(parts.store, { order: 'newest', limit, ...asked }).map((entry) => ({
        ...entry,
        time: new Date(entry.timeMs).toISOString(),
      }));
    },
  );

  server.post('/api/plan', { schema: entryApi['POST /api/plan'] }, (request, reply) => {
    void reply.code(201);
    return parts.entries.plan(request.body, now());
  });

  server.post('/api/refills', { schema: entryApi['POST /api/refills'] }, (request, reply) => {
    void reply.code(201);
    return parts.entries.refill(request.body, now());
  });
}
