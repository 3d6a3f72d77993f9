import { stringify } from 'csv-stringify/sync';

/** A cell to write; an absent value is an empty cell. */
export type Cell = string | number | undefined;

/** With these a spreadsheet takes a text for a formula, and would run it; in the full-width forms too in some languages. */
const formulaStart = /^(?:[\t\r\n]|\s*[=+\-@\uff1d\uff0b\uff0d\uff20])/;
const formulaBehindSeparator = /(;\s*)([=+\-@\uff1d\uff0b\uff0d\uff20])/g;

/** A text that is nothing but a number cannot do anything, and must stay one for the program that reads it next. */
const plainNumber = /^[+-]?\d+(\.\d+)?([eE][+-]?\d+)?$/;

/**
 * One record with its line end by RFC 4180: CRLF, quotes where they are needed. Text that a spreadsheet would take for
 * a formula gets an apostrophe in front.
 *
 * @throws RangeError  for NaN or an infinity, which no reader of CSV knows as a number
 */
export function csvLine(cells: readonly Cell[]): string {
  // A lone CR or LF in a cell is a line end to most readers, and must be quoted as CRLF is.
  return stringify([cells.map(cellText)], { record_delimiter: 'windows', quoted_match: /[\r\n]/ });
}

function cellText(cell: Cell): string {
  if (cell === undefined) return '';
  if (typeof cell === 'number') {
    if (!Number.isFinite(cell)) throw new RangeError(`a cell of a table is ${cell}`);
    return String(cell === 0 ? 0 : cell);
  }
  if (plainNumber.test(cell)) return cell;
  // Where the list separator is a semicolon a spreadsheet begins a cell behind each.
  const parted = cell.replaceAll(formulaBehindSeparator, "$1'$2");
  return formulaStart.test(parted) ? `'${parted}` : parted;
}
