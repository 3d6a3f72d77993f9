import * as z from 'zod';
import { journalKinds } from '#adapters/ports/store.ts';
import type { RecordPart } from '#adapters/ports/whole-record.ts';
import { hourMs, minuteMs } from '#rules/clock/durations.ts';
import { flagNumber, flags, type Series } from '#rules/quality/reading.ts';
import { metrics } from '#rules/quantity/metric.ts';

/**
 * A whole record as JSON lines: a header, a line for each part, and a last line with how many of each there are, so that a
 * file that was cut off is told. deploy/docs/whole-record.md describes it. A form that was released is never edited: a change
 * is a further version.
 */
export const recordFormat = 'brinekeep-record';
export const recordVersion = 1;

/** A photo of 4 MiB is 5.6 MB of base64; the readings of one line are some 400 kB. */
export const mostLineBytes = 32 * 1024 * 1024;

const time = z.iso.datetime({ precision: 3, error: 'need a time such as 2026-11-01T09:30:00.000Z' });
const whole = z.int().nonnegative();
const series = z.strictObject({ system: z.string(), metric: z.enum(metrics), probe: z.string() });

export const headerSchema = z.object({
  format: z.literal(recordFormat),
  version: z.int().positive(),
  /** The version of the program that wrote it. */
  program: z.string(),
});

const tally = {
  from: time,
  /** Of each interval, how many intervals after the first it begins. */
  after: z.array(whole).min(1),
  count: z.array(whole),
  failed: z.array(whole),
  min: z.array(z.number().nullable()),
  max: z.array(z.number().nullable()),
  sum: z.array(z.number()),
  worst: z.array(z.int().min(0).max(9)),
};

const counts = z.strictObject({
  entries: whole,
  documents: whole,
  readings: whole,
  minutes: whole,
  hours: whole,
  photos: whole,
});

const lineSchema = z.union([
  z.strictObject({ kept_from: time }),
  z.strictObject({
    entry: z.int().positive(),
    kind: z.enum(journalKinds),
    time,
    recorded: time,
    system: z.string(),
    body: z.record(z.string(), z.unknown()),
    corrects: z.int().positive().optional(),
    withdrawn: z.literal(true).optional(),
    key: z.string().optional(),
  }),
  z.strictObject({ document: z.string().min(1), body: z.string() }),
  z.strictObject({
    readings: series,
    from: time,
    after_ms: z.array(whole).min(1),
    values: z.array(z.number()),
    flags: z.array(z.int()),
  }),
  z.strictObject({ minutes: series, ...tally }),
  z.strictObject({ hours: series, ...tally }),
  z.strictObject({ photo: z.string(), base64: z.base64() }),
  z.strictObject({ end: counts }),
]);

export type RecordCounts = z.infer<typeof counts>;
type Line = z.infer<typeof lineSchema>;
type TallyLine = Extract<Line, { minutes: unknown }> | Extract<Line, { hours: unknown }>;

/** What a line of a record holds. */
export type LinePart =
  | RecordPart
  | { part: 'photo'; name: string; bytes: Buffer }
  | { part: 'end'; counts: RecordCounts };

export const noCounts = (): RecordCounts => ({
  entries: 0,
  documents: 0,
  readings: 0,
  minutes: 0,
  hours: 0,
  photos: 0,
});

/** Adds what a part holds. */
export function countPart(into: RecordCounts, part: LinePart): void {
  if (part.part === 'entry') into.entries += 1;
  else if (part.part === 'document') into.documents += 1;
  else if (part.part === 'readings') into.readings += part.readings.length;
  else if (part.part === 'tallies') into[tallyKey(part.resolution)] += part.tallies.length;
  else if (part.part === 'photo') into.photos += 1;
}

const intervalMs = { minute: minuteMs, hour: hourMs };
const tallyKey = (resolution: 'minute' | 'hour') => (resolution === 'minute' ? 'minutes' : 'hours');
const iso = (ms: number) => new Date(ms).toISOString();
const flagOf = new Map<number, (typeof flags)[number]>(flags.map((flag) => [flagNumber[flag], flag]));

/** The line of a part, with its line end. */
export function recordLine(part: LinePart): string {
  return `${JSON.stringify(lineOf(part))}\n`;
}

export function headerLine(program: string): string {
  return `${JSON.stringify({ format: recordFormat, version: recordVersion, program })}\n`;
}

function lineOf(part: LinePart): Line {
  if (part.part === 'kept_from') return { kept_from: iso(part.timeMs) };
  if (part.part === 'document') return { document: part.name, body: part.body };
  if (part.part === 'photo') return { photo: part.name, base64: part.bytes.toString('base64') };
  if (part.part === 'end') return { end: part.counts };
  if (part.part === 'entry') {
    const { id, kind, timeMs, recordedMs, system, body, corrects, isWithdrawn, key } = part.entry;
    const said = { entry: id, kind, time: iso(timeMs), recorded: iso(recordedMs), system, body };
    return {
      ...said,
      ...(corrects !== undefined && { corrects }),
      ...(isWithdrawn === true && { withdrawn: true as const }),
      ...(key !== undefined && { key }),
    };
  }
  if (part.part === 'readings') {
    const fromMs = part.readings[0]!.timeMs;
    return {
      readings: part.series,
      from: iso(fromMs),
      after_ms: part.readings.map(({ timeMs }) => timeMs - fromMs),
      values: part.readings.map(({ value }) => value),
      flags: part.readings.map(({ flag }) => flagNumber[flag]),
    };
  }
  const fromMs = part.tallies[0]!.startMs;
  return {
    [tallyKey(part.resolution)]: part.series,
    from: iso(fromMs),
    after: part.tallies.map(({ startMs }) => (startMs - fromMs) / intervalMs[part.resolution]),
    count: part.tallies.map(({ count }) => count),
    failed: part.tallies.map(({ failed }) => failed),
    min: part.tallies.map(({ min }) => min ?? null),
    max: part.tallies.map(({ max }) => max ?? null),
    sum: part.tallies.map(({ sum }) => sum),
    worst: part.tallies.map(({ worst }) => worst),
  } as TallyLine;
}

/** What the line holds, or what is wrong with it, in words. */
export function readLine(text: string): LinePart | string {
  let found: unknown;
  try {
    found = JSON.parse(text);
  } catch {
    return `found ${text.slice(0, 60)}, which is not JSON`;
  }
  const keys = typeof found === 'object' && found !== null ? Object.keys(found) : [];
  const form = lineSchema.options.find((each) => keys.includes(nameOf(each)));
  if (form === undefined) {
    const names = lineSchema.options.map(nameOf).join(', ');
    return `found a line that begins with ${keys[0]?.slice(0, 60) ?? 'nothing'}, need one of ${names}`;
  }
  const read = form.safeParse(found);
  if (read.success) return partOf(read.data as Line);
  return read.error.issues
    .slice(0, 3)
    .map(({ path, message }) => `${path.join('.') || nameOf(form)}: ${message}`)
    .join('; ');
}

/** The key that tells a line from those of other kinds. */
function nameOf(form: (typeof lineSchema.options)[number]): string {
  return Object.keys(form.shape)[0] ?? '';
}

function partOf(line: Line): LinePart | string {
  if ('kept_from' in line) return { part: 'kept_from', timeMs: Date.parse(line.kept_from) };
  if ('document' in line) return { part: 'document', name: line.document, body: line.body };
  if ('photo' in line) return { part: 'photo', name: line.photo, bytes: Buffer.from(line.base64, 'base64') };
  if ('end' in line) return { part: 'end', counts: line.end };
  if ('entry' in line) {
    const { entry: id, kind, time: at, recorded, system, body, corrects, withdrawn, key } = line;
    const said = { id, kind, timeMs: Date.parse(at), recordedMs: Date.parse(recorded), system, body };
    return {
      part: 'entry',
      entry: {
        ...said,
        ...(corrects !== undefined && { corrects }),
        ...(withdrawn === true && { isWithdrawn: true }),
        ...(key !== undefined && { key }),
      },
    };
  }
  const columns = Object.values(line).filter(Array.isArray);
  if (new Set(columns.map(({ length }) => length)).size > 1) return 'its lists differ in length';
  const fromMs = Date.parse(line.from);
  if ('readings' in line) {
    const readings = line.after_ms.map((after, at) => ({
      timeMs: fromMs + after,
      value: line.values[at]!,
      flag: flagOf.get(line.flags[at]!) ?? 'missing',
    }));
    if (readings.some(({ flag }) => flag === 'missing')) return 'found a flag that is none of 1, 2, 3, 4';
    return { part: 'readings', series: line.readings as Series, readings };
  }
  const resolution = 'minutes' in line ? 'minute' : 'hour';
  if (fromMs % intervalMs[resolution] !== 0) return `from: found ${line.from}, need the start of a full ${resolution}`;
  const tallies = line.after.map((after, at) => ({
    startMs: fromMs + after * intervalMs[resolution],
    count: line.count[at]!,
    failed: line.failed[at]!,
    min: line.min[at] ?? undefined,
    max: line.max[at] ?? undefined,
    sum: line.sum[at]!,
    worst: line.worst[at]!,
  }));
  if (tallies.some(({ count, min, max }) => count > 0 !== (min !== undefined && max !== undefined)))
    return 'min and max belong to intervals with a count, and to no others';
  return { part: 'tallies', series: ('minutes' in line ? line.minutes : line.hours) as Series, resolution, tallies };
}
