import { DateTime } from 'luxon';

/** How times are written in a file that does not keep to ISO 8601 with an offset. */
export type TimeWriting = {
  /** IANA zone of times that name none. */
  zone: string;
  /** Pattern of the tokens of Unicode TR 35, e.g. `dd.MM.yyyy HH:mm`; ISO 8601 when absent. */
  pattern: string | undefined;
};

/** What to say of a cell that is no time. */
export function notTimeReason({ pattern }: TimeWriting): string {
  if (pattern !== undefined) return `not a time as --time "${pattern}" writes it`;
  return 'not an ISO 8601 time such as 2026-07-01T09:30; give its pattern with --time';
}

/** UTC milliseconds; undefined for what is no such time. An hour that daylight saving repeats is taken as the first. */
export function timeMsOfCell(cell: string, writing: TimeWriting): number | undefined {
  const { zone, pattern } = writing;
  // With a space in the place of the T, as spreadsheets write it.
  const iso = () => DateTime.fromISO(cell.replace(/^(\d{4}-\d\d-\d\d) (?=\d)/, '$1T'), { zone });
  const time = pattern === undefined ? iso() : DateTime.fromFormat(cell, pattern, { zone });
  return time.isValid ? time.toMillis() : undefined;
}

/** What to say of a cell that is no number. */
export const notNumberReason = 'not a number; 1,300 could be a thousand or a decimal: write 1300 or 1.3';

/**
 * A number as people write it: with a decimal point, or with one decimal comma and no point. Undefined for anything
 * else, such as `1,234.5`: which of the two marks a thousand cannot be told.
 *
 * @param isCommaDecimal  every comma is one of decimals, as in a table whose cells are parted by another sign; else one before
 *   three digits may mark a thousand, and a magnesium of 1,300 mg/L must not become one of 1.3
 */
export function numberOfCell(cell: string, isCommaDecimal: boolean): number | undefined {
  if (!isCommaDecimal && /^[+-]?[1-9]\d{0,2},\d{3}$/.test(cell)) return undefined;
  const text = /^[+-]?\d+,\d+$/.test(cell) ? cell.replace(',', '.') : cell;
  if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text)) return undefined;
  const value = Number(text);
  return Number.isFinite(value) ? value : undefined;
}
