import { isJsonObject, parseBoundedJson } from './bounded-json.ts';
import { isChannelName } from './channel-name.ts';
import { parseDecimal } from './decimal-number.ts';
import {
  conclude,
  type DecodedValue,
  type Decoder,
  type JsonValuePath,
  type Refusal,
  refusal,
  refuse,
} from './decoder.ts';
import { statedTimeMs } from './stated-time.ts';

/**
 * Values out of any JSON document, each by its dotted path: `water.ph` in `{"water": {"ph": 8.1}}`, `tanks.0.t` in an
 * array; the empty path is the document itself. The text is parsed once for all paths.
 *
 * A number may stand as a number or as a text that is one ("8.1"). A path that the document lacks is passed over when
 * another one is there, since devices send what changed. A time that is there and cannot be read sets its value aside:
 * taken for now, an old value would look fresh. A time that is missing leaves the value without one.
 */
export const decodeJsonPaths: Decoder = (text, context) => {
  const parsed = parseBoundedJson(text);
  if (!parsed.ok) return parsed;
  const values: DecodedValue[] = [];
  const setAside: Refusal[] = [];
  for (const wanted of context.paths ?? []) {
    if (wanted.channel !== '' && !isChannelName(wanted.channel)) continue;
    const found = valueAt(parsed.json, wanted.path);
    if (found === undefined) continue;
    const value = readValue(found, parsed.json, wanted);
    if ('reason' in value) setAside.push(value);
    else values.push(value);
  }
  if (values.length === 0 && setAside.length === 0) return refuse('unknown_channel', text);
  return conclude(text, { values, setAside });
};

function readValue(found: unknown, document: unknown, wanted: JsonValuePath): DecodedValue | Refusal {
  const number = numberFrom(found);
  if (!number.ok) return refusal(number.reason, `${wanted.path}: ${JSON.stringify(found)}`);
  const value = { channel: wanted.channel, value: number.value };
  if (wanted.timePath === undefined) return value;
  const stated = valueAt(document, wanted.timePath);
  if (stated === undefined || stated === null) return value;
  const statedMs = statedTimeMs(stated);
  if (statedMs === undefined) return refusal('malformed', `${wanted.timePath}: ${JSON.stringify(stated)}`);
  return { ...value, statedMs };
}

function numberFrom(found: unknown): ReturnType<typeof parseDecimal> {
  if (typeof found === 'string') return parseDecimal(found.trim());
  if (typeof found !== 'number') return { ok: false, reason: 'malformed' };
  return Number.isFinite(found) ? { ok: true, value: found } : { ok: false, reason: 'not_finite' };
}

/** Looks at own keys only: `constructor` is found in no document that does not spell it. */
function valueAt(document: unknown, path: string): unknown {
  let here = document;
  if (path === '') return here;
  for (const step of path.split('.')) {
    if (Array.isArray(here)) {
      if (!/^\d{1,6}$/.test(step)) return undefined;
      here = here[Number(step)];
    } else if (isJsonObject(here) && Object.hasOwn(here, step)) here = here[step];
    else return undefined;
  }
  return here;
}
