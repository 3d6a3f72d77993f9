import { DateTime } from 'luxon';

/** How times are written in a file that does not keep to ISO 8601 with an offset. */
export type TimeWriting = {
  /** IANA zone of times that name none. */
  zone: string;
  /** Pattern of the tokens of Unicode TR 35, e.g. `dd.MM.yyyy HH:mm`; ISO 8601 when absent. */
  pattern: string | undefined;
};

/** UTC milliseconds; undefined for what is no such time. An hour that daylight saving repeats is taken as the first. */
export function timeMsOfCell(cell: string, writing: TimeWriting): number | undefined {
  const { zone, pattern } = writing;
  const time = pattern === undefined ? DateTime.fromISO(cell, { zone }) : DateTime.fromFormat(cell, pattern, { zone });
  return time.isValid ? time.toMillis() : undefined;
}

/**
 * A number as people write it: with a decimal point, or with one decimal comma and no point. Undefined for anything
 * else, such as `1,234.5`: which of the two marks a thousand cannot be told.
 */
export function numberOfCell(cell: string): number | undefined {
  const text = /^[+-]?\d+,\d+$/.test(cell) ? cell.replace(',', '.') : cell;
  if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text)) return undefined;
  const value = Number(text);
  return Number.isFinite(value) ? value : undefined;
}
