import { DateTime } from 'luxon';
import { hourMs } from '#rules/clock/durations.ts';

const plainDecimal = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;

/**
 * UTC milliseconds of an ISO 8601 time; undefined for any other text. Without an offset it is UTC, never the zone of
 * the machine, so that a file means the same everywhere.
 */
export function timeMsOfText(text: string): number | undefined {
  const iso = text.trim().replace(/^(\d{4}-\d{2}-\d{2}) /, '$1T');
  const time = DateTime.fromISO(iso, { zone: 'utc' });
  return time.isValid ? time.toMillis() : undefined;
}

/** A finite decimal number; undefined for an empty cell, a word, a hexadecimal or a decimal comma. */
export function valueOfText(text: string): number | undefined {
  const trimmed = text.trim();
  if (!plainDecimal.test(trimmed)) return undefined;
  const value = Number(trimmed);
  return Number.isFinite(value) ? value : undefined;
}

const zero = 48;
const point = 46;
const minus = 45;

/** Exact in a double, as is every power of ten up to 22: their quotient is then the correctly rounded decimal. */
const mostDigits = 15;
const powersOfTen = Array.from({ length: mostDigits + 1 }, (_, power) => 10 ** power);

/** The number in plain digits in [from, to), or NaN for anything else: `valueOfText` then decides. */
export function plainValueAt(bytes: Uint8Array, from: number, to: number): number {
  let at = from;
  const isNegative = bytes[at] === minus;
  if (isNegative) at++;
  let mantissa = 0;
  let digits = 0;
  let pointAt = -1;
  for (; at < to; at++) {
    const digit = bytes[at]! - zero;
    if (digit >= 0 && digit <= 9) {
      mantissa = mantissa * 10 + digit;
      digits++;
    } else if (bytes[at] === point && pointAt < 0 && digits > 0) pointAt = at;
    else return Number.NaN;
  }
  if (digits === 0 || digits > mostDigits) return Number.NaN;
  const value = pointAt < 0 ? mantissa : mantissa / powersOfTen[to - pointAt - 1]!;
  return isNegative ? -value : value;
}

/** The day that rows in order of time share, so that the calendar is asked once for each day. */
export type DayCache = { key: number; startMs: number };

/**
 * UTC milliseconds of `YYYY-MM-DDTHH:MM:SS[.fff](Z|±HH:MM)` in [from, to), or NaN for anything else: `timeMsOfText` then
 * decides.
 */
export function plainTimeAt(bytes: Uint8Array, from: number, to: number, day: DayCache): number {
  const length = to - from;
  if (length < 20 || bytes[from + 10] !== 84 || bytes[from + 13] !== 58 || bytes[from + 16] !== 58) return Number.NaN;
  if (bytes[from + 4] !== minus || bytes[from + 7] !== minus) return Number.NaN;
  const key =
    (pair(bytes, from) * 100 + pair(bytes, from + 2)) * 10_000 + pair(bytes, from + 5) * 100 + pair(bytes, from + 8);
  if (key !== day.key) {
    const startMs = dayStartMs(key);
    if (Number.isNaN(startMs)) return Number.NaN;
    day.key = key;
    day.startMs = startMs;
  }
  const hour = pair(bytes, from + 11);
  const minute = pair(bytes, from + 14);
  const second = pair(bytes, from + 17);
  // Negated, so that the NaN of a sign that is no digit fails too.
  if (!(hour < 24 && minute < 60 && second < 60)) return Number.NaN;
  let at = from + 19;
  let milliseconds = 0;
  if (bytes[at] === point) {
    milliseconds = pair(bytes, at + 1) * 10 + (pair(bytes, at + 2) % 10);
    at += 4;
  }
  const timeMs = day.startMs + hour * hourMs + minute * 60_000 + second * 1000 + milliseconds;
  const zone = bytes[at];
  if (zone === 90 && at + 1 === to) return timeMs;
  if ((zone === 43 || zone === minus) && at + 6 === to && bytes[at + 3] === 58) {
    const offsetHours = pair(bytes, at + 1);
    const offsetMinutes = pair(bytes, at + 4);
    if (!(offsetHours < 24 && offsetMinutes < 60)) return Number.NaN;
    const offsetMs = (offsetHours * 60 + offsetMinutes) * 60_000;
    return zone === minus ? timeMs + offsetMs : timeMs - offsetMs;
  }
  return Number.NaN;
}

/** Two digits as a number, or NaN. */
function pair(bytes: Uint8Array, at: number): number {
  const tens = bytes[at]! - zero;
  const ones = bytes[at + 1]! - zero;
  return tens >= 0 && tens <= 9 && ones >= 0 && ones <= 9 ? tens * 10 + ones : Number.NaN;
}

function dayStartMs(key: number): number {
  const [year, month, day] = [Math.floor(key / 10_000), Math.floor(key / 100) % 100, key % 100];
  const date = new Date(Date.UTC(year, month - 1, day));
  const isReal = date.getUTCFullYear() === year && date.getUTCMonth() === month - 1 && date.getUTCDate() === day;
  return isReal ? date.getTime() : Number.NaN;
}
