import { isJsonObject, parseBoundedJson } from './bounded-json.ts';
import { isChannelName } from './channel-name.ts';
import { conclude, type DecodedValue, type Decoder, mostValues, refuse } from './decoder.ts';

/** RFC 8428, 4.5.1: letters, digits and - : . / _, beginning with a letter or digit. */
const nameForm = /^[A-Za-z0-9][A-Za-z0-9:./_-]*$/;

/** RFC 8428, 4.5.3: a time below 2^28 s is relative to now, from there on it counts from 1970. */
const firstAbsolute_s = 2 ** 28;

/** The version of RFC 8428; a pack of a later one must not be used (4.4). */
const knownVersion = 10;

const kindOfField = new Map<string, 'number' | 'string' | 'boolean'>([
  ...['bt', 'bv', 'bs', 'bver', 't', 'v', 's', 'ut'].map((name) => [name, 'number'] as const),
  ...['bn', 'bu', 'n', 'u', 'vs', 'vd'].map((name) => [name, 'string'] as const),
  ['vb', 'boolean'],
]);
/** A record has one of them at most. */
const valueFields = new Set(['v', 'vs', 'vb', 'vd']);
const lastMs = 8.64e15;

type Base = { name: string; time_s: number; unit: string | undefined; value: number };
type Resolved = { ok: true; value?: DecodedValue } | { ok: false; reason: 'malformed' | 'not_finite' };

/**
 * A SenML pack in JSON (RFC 8428): base name, time, unit and value are carried from record to record and resolved.
 *
 * - Values are numbers (`v`). A sound record without one (a label, a switch, a sum, base fields alone) is counted as ignored.
 * - A pack that breaks the standard in any record is refused whole: base fields run through it, so nothing after the
 *   fault can be trusted. A field whose name ends in `_` must be understood (4.4) and none is, so it refuses the pack too.
 * - Base sums and sums are checked to be numbers and not used: an integral over time is no reading.
 * - A record that states no time, or the time 0, is of now; it gets no `statedMs`, and the time of arrival dates it.
 *
 * @source RFC 8428 (August 2018), sections 4.1 to 4.6 and 5
 */
export const decodeSenml: Decoder = (text, context) => {
  const parsed = parseBoundedJson(text);
  if (!parsed.ok) return parsed;
  const pack = parsed.json;
  if (!Array.isArray(pack) || pack.length === 0) return refuse('malformed', text);
  if (pack.length > mostValues) return refuse('too_many', text);
  const base: Base = { name: '', time_s: 0, unit: undefined, value: 0 };
  const values: DecodedValue[] = [];
  let ignoredRecords = 0;
  for (const record of pack) {
    const resolved = resolveRecord(record, base, context.nowMs);
    if (!resolved.ok) return refuse(resolved.reason, JSON.stringify(record));
    if (resolved.value) values.push(resolved.value);
    else ignoredRecords += 1;
  }
  return conclude(text, { values, ignoredRecords });
};

/** Resolves one record against `base`, which it moves on. */
function resolveRecord(record: unknown, base: Base, nowMs: number): Resolved {
  if (!isJsonObject(record)) return { ok: false, reason: 'malformed' };
  const fault = fieldFault(record);
  if (fault) return { ok: false, reason: fault };
  if (typeof record['bn'] === 'string') base.name = record['bn'];
  if (typeof record['bt'] === 'number') base.time_s = record['bt'];
  if (typeof record['bu'] === 'string') base.unit = record['bu'];
  if (typeof record['bv'] === 'number') base.value = record['bv'];
  if (typeof record['v'] !== 'number') return { ok: true };

  const channel = base.name + (typeof record['n'] === 'string' ? record['n'] : '');
  if (!nameForm.test(channel) || !isChannelName(channel)) return { ok: false, reason: 'malformed' };
  const value = base.value + record['v'];
  const time_s = base.time_s + (typeof record['t'] === 'number' ? record['t'] : 0);
  const statedMs = time_s >= firstAbsolute_s ? time_s * 1000 : nowMs + time_s * 1000;
  if (!Number.isFinite(value) || !(Math.abs(statedMs) <= lastMs)) return { ok: false, reason: 'not_finite' };
  const unit = typeof record['u'] === 'string' ? record['u'] : base.unit;
  return {
    ok: true,
    value: {
      channel,
      value,
      ...(unit === undefined ? {} : { unit }),
      ...(time_s === 0 ? {} : { statedMs: Math.round(statedMs) }),
    },
  };
}

function fieldFault(record: Record<string, unknown>): 'malformed' | 'not_finite' | undefined {
  let values = 0;
  // JSON.parse makes own fields alone, `__proto__` among them.
  for (const name in record) {
    if (name.endsWith('_')) return 'malformed';
    const kind = kindOfField.get(name);
    if (kind === undefined) continue;
    const field = record[name];
    if (typeof field !== kind) return 'malformed';
    // JSON.parse makes Infinity of 1e999.
    if (kind === 'number' && !Number.isFinite(field)) return 'not_finite';
    if (valueFields.has(name)) values += 1;
  }
  if (values > 1) return 'malformed';
  const version = record['bver'] ?? knownVersion;
  return Number.isInteger(version) && Number(version) >= 1 && Number(version) <= knownVersion ? undefined : 'malformed';
}
