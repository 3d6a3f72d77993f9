import * as z from 'zod';
import { type JournalKind, journalKinds } from '#adapters/ports/store.ts';
import {
  doseEntrySchema,
  planEntrySchema,
  refillEntrySchema,
  testEntrySchema,
  waterChangeEntrySchema,
} from '../model/entries/entry-schemas.ts';
import type { Entry } from '../model/journal/journal.ts';

const saved = z.string().describe('what was saved in words, with its unit');

const entered = z.object({ id: z.number(), saved });

const confirmed = z.boolean().optional().describe('true: it was queried and is right as given');

/** An entry of the journal with the body of its kind. */
export type EntryAnswer<Kind extends JournalKind = JournalKind> = Entry<Kind> & { time: string };

/** Each body was read by the schema of its kind, and is not looked at again. */
const keptEntry = z.object({
  id: z.number(),
  kind: z.enum(journalKinds),
  time: z.string().describe('when it happened'),
  timeMs: z.number(),
  recordedMs: z.number().describe('when the hub learned of it'),
  system: z.string().describe('empty for what is about the room'),
  body: z.record(z.string(), z.unknown()).describe('by its kind; amounts in the units of the store'),
  corrects: z.number().optional().describe('id of the entry it replaces'),
  isWithdrawn: z.boolean().optional(),
  key: z.string().optional().describe('of the submission'),
}) as unknown as z.ZodType<EntryAnswer>;

export const entryApi = {
  'POST /api/tests': {
    summary: 'Enter a test; 409 asks when the value looks like a slip: send it again with confirmed: true',
    tags: ['entries'],
    body: testEntrySchema,
    response: { 201: z.object({ id: z.number(), analyte: z.string(), value: z.number(), saved }) },
  },
  'POST /api/doses': {
    summary: 'Enter a dose that was given; 409 asks when it looks like a slip: send it again with confirmed: true',
    tags: ['entries'],
    body: doseEntrySchema.safeExtend({ confirmed }),
    response: { 201: entered },
  },
  'POST /api/water-changes': {
    summary: 'Enter a water change; 409 asks when it looks like a slip: send it again with confirmed: true',
    tags: ['entries'],
    body: waterChangeEntrySchema.extend({ confirmed }),
    response: { 201: entered },
  },
  'POST /api/entries/:id/withdraw': {
    summary: 'Take an entry back: it stays in the journal and no longer counts',
    tags: ['entries'],
    params: z.object({ id: z.coerce.number().int().positive() }),
    body: z.strictObject({ by: z.string().min(1).max(60).default('page') }),
    response: { 201: entered.omit({ saved: true }) },
  },
  'GET /api/entries': {
    summary: 'What is in the journal, newest first; what was corrected or taken back is left out',
    tags: ['entries'],
    querystring: z.object({
      system: z.string().optional(),
      kind: z.enum(journalKinds).optional(),
      limit: z.coerce.number().int().min(1).max(1000).default(100),
    }),
    response: { 200: z.array(keptEntry) },
  },
  'POST /api/plan': {
    summary: 'Set the daily dose of a stock; 0 mL ends it',
    tags: ['entries'],
    body: planEntrySchema,
    response: { 201: entered },
  },
  'POST /api/refills': {
    summary: 'Log a refilled container: full, or filled to this many millilitres',
    tags: ['entries'],
    body: refillEntrySchema,
    response: { 201: entered },
  },
};
