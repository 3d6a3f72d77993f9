import * as z from 'zod';
import { metrics } from '#rules/quantity/metric.ts';
import { arrivalEntrySchema } from '../../model/entries/arrival-schemas.ts';
import {
  doseEntrySchema,
  planEntrySchema,
  refillEntrySchema,
  testEntrySchema,
  waterChangeEntrySchema,
} from '../../model/entries/entry-schemas.ts';

/** Far more than any entry; what is longer is no line of a diary. */
const mostCharacters = 65_536;

const time = z.iso.datetime({ offset: true }).describe('ISO 8601');
/** Every entry of a diary counts as confirmed; a line that says so is right too. */
const dated = { time, confirmed: z.boolean().optional() };
const systemId = z.string().min(1).max(40);

/** A line of a diary: the body of the HTTP request of the same kind, with its kind and its time. */
const entrySchema = z.discriminatedUnion('kind', [
  testEntrySchema.extend({ ...dated, kind: z.literal('test') }),
  doseEntrySchema.safeExtend({ ...dated, kind: z.literal('dose') }),
  planEntrySchema.extend({ ...dated, kind: z.literal('plan') }),
  waterChangeEntrySchema.extend({ ...dated, kind: z.literal('water_change') }),
  refillEntrySchema.extend({ ...dated, kind: z.literal('refill') }),
  arrivalEntrySchema
    .partial()
    .extend({ ...dated, kind: z.literal('arrival'), system: systemId, event: z.literal('arrived').default('arrived') }),
  z.strictObject({
    ...dated,
    kind: z.literal('reading'),
    system: systemId,
    metric: z.enum(metrics),
    value: z.number().describe("in the metric's store unit"),
  }),
]);

const askSchema = z.strictObject({ time, ask: systemId });

export type DiaryEntry = z.infer<typeof entrySchema>;

export type DiaryLine =
  | { is: 'entry'; timeMs: number; entry: DiaryEntry }
  | { is: 'ask'; timeMs: number; system: string }
  | { is: 'bad'; why: string };

/** What a line of a diary says. Never throws: a bad line is named with what was found and what is allowed. */
export function diaryLineFrom(text: string): DiaryLine {
  if (text.length > mostCharacters) return bad(`found ${text.length} characters, allowed ${mostCharacters}`);
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch {
    return bad(`found ${shown(text)}, need one JSON object`);
  }
  if (typeof document !== 'object' || document === null) return bad(`found ${shown(text)}, need one JSON object`);
  if ('ask' in document) {
    const ask = askSchema.safeParse(document);
    if (!ask.success) return bad(wordsOf(ask.error));
    return { is: 'ask', timeMs: Date.parse(ask.data.time), system: ask.data.ask };
  }
  const entry = entrySchema.safeParse(document);
  if (!entry.success) return bad(wordsOf(entry.error));
  return { is: 'entry', timeMs: Date.parse(entry.data.time), entry: entry.data };
}

function bad(why: string): DiaryLine {
  return { is: 'bad', why };
}

function shown(text: string): string {
  return JSON.stringify(text.slice(0, 60));
}

function wordsOf({ issues }: z.ZodError): string {
  return issues
    .map(({ path, message }) => (path.length === 0 ? message : `${path.map(String).join('.')}: ${message}`))
    .join('; ');
}
