import { mostTextLength, type Refusal, refusal } from './decoder.ts';

/** What a payload of readings needs is three or four levels. */
const mostDepth = 32;

const [quote, backslash, brace, braceEnd, bracket, bracketEnd] = [0x22, 0x5c, 0x7b, 0x7d, 0x5b, 0x5d];

export type ParsedJson = { ok: true; json: unknown } | ({ ok: false } & Refusal);

/** JSON of a stranger: bounded in length and depth before it is parsed, and never an exception. */
export function parseBoundedJson(text: string): ParsedJson {
  if (text.length > mostTextLength) return { ok: false, ...refusal('too_long', text) };
  if (isTooDeep(text)) return { ok: false, ...refusal('malformed', text) };
  try {
    return { ok: true, json: JSON.parse(text) };
  } catch {
    return { ok: false, ...refusal('malformed', text) };
  }
}

function isTooDeep(text: string): boolean {
  let depth = 0;
  let isInString = false;
  for (let index = 0; index < text.length; index += 1) {
    const unit = text.charCodeAt(index);
    if (isInString) {
      if (unit === backslash) index += 1;
      else if (unit === quote) isInString = false;
    } else if (unit === quote) isInString = true;
    else if (unit === brace || unit === bracket) {
      depth += 1;
      if (depth > mostDepth) return true;
    } else if (unit === braceEnd || unit === bracketEnd) depth -= 1;
  }
  return false;
}

/** A JSON object, not an array and not null. */
export function isJsonObject(json: unknown): json is Record<string, unknown> {
  return typeof json === 'object' && json !== null && !Array.isArray(json);
}
