import type { RejectReason } from '../ports/observation.ts';

/** One number with its name, as a text states it. `channel` is empty where the text names nothing. */
export type DecodedValue = { channel: string; value: number; unit?: string; statedMs?: number };

/** Why a text, or a part of it, gave no value. `found` is short and printable. */
export type Refusal = { reason: RejectReason; found: string };

/**
 * What a decoder answers. Beside values or a refusal it says two things more: which parts gave no value though
 * others did, and how many records were sound but carry no number (a SenML label, say).
 */
export type Decoding =
  | { ok: true; values: DecodedValue[]; setAside: Refusal[]; ignoredRecords: number }
  | ({ ok: false } & Refusal);

/** For `json`: where one value stands, and where its time does, as dotted paths such as `water.ph` or `tanks.0.t`. */
export type JsonValuePath = { channel: string; path: string; timePath?: string };

export type DecodeContext = {
  /** UTC milliseconds; relative times count from here. */
  nowMs: number;
  /** For `csv`: the channel of each column, in order; `-` skips one. */
  columns?: readonly string[];
  /** For `csv`; a comma when absent. */
  separator?: ',' | ';' | '\t' | ' ';
  /** For `json`. */
  paths?: readonly JsonValuePath[];
};

/**
 * Text in, numbers out. A decoder keeps these promises, and the fuzz test of this folder holds every one to them:
 * - it never throws, whatever the text;
 * - each value is a finite number and each channel a plain name, never a key of the prototype;
 * - it remembers nothing: the same text and context give the same answer.
 */
export type Decoder = (text: string, context: DecodeContext) => Decoding;

/** Longest text that a decoder looks at, in UTF-16 units. Longer is `too_long`, unread. */
export const mostTextLength = 262_144;

/** Most values taken from one text. More is `too_many`, and none of it is used. */
export const mostValues = 1000;

const mostFoundLength = 80;

/** The start of a text on one printable line, for a person who asks what came. */
function shorten(text: string): string {
  const start = text.length > mostFoundLength ? `${text.slice(0, mostFoundLength)}…` : text;
  return start.replace(/[^\x20-\x7e\u00a0-\u{10ffff}]/gu, (unprintable) => {
    return `\\u${unprintable.codePointAt(0)!.toString(16).padStart(4, '0')}`;
  });
}

export function refusal(reason: RejectReason, found: string): Refusal {
  return { reason, found: shorten(found) };
}

export function refuse(reason: RejectReason, found: string): Decoding {
  return { ok: false, ...refusal(reason, found) };
}

/**
 * The answer of a decoder that went through all parts: good as soon as one part gave a value; else the first refusal
 * speaks for all. A text whose every record is sound but without a number is good and empty.
 */
export function conclude(
  text: string,
  found: { values: DecodedValue[]; setAside?: Refusal[]; ignoredRecords?: number },
): Decoding {
  const { values, setAside = [], ignoredRecords = 0 } = found;
  if (values.length > mostValues) return refuse('too_many', text);
  const first = setAside[0];
  if (values.length === 0 && ignoredRecords === 0) return first ? { ok: false, ...first } : refuse('malformed', text);
  return { ok: true, values, setAside, ignoredRecords };
}
