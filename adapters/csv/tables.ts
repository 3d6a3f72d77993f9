import { once } from 'node:events';
import type { Readable } from 'node:stream';
import type { Table, TableRow, Tables } from '../ports/tables.ts';
import { csvLine } from './cells.ts';
import { type ParsedRow, parsedRows } from './parsed-rows.ts';
import { TableUnreadable } from './table-unreadable.ts';

/** CSV tables with a header, from and to streams. */
export const csvTables: Tables = {
  read: readTable,
  line: csvLine,
  async write(output, line) {
    if (!output.write(line)) await once(output, 'drain');
  },
};

/**
 * Reads the header and gives the rows as they come; memory stays that of one row. A row with fewer cells than columns
 * ends in empty cells. One with more has a comma too many somewhere, so that no cell of it can be trusted: all of its
 * cells are empty and `problem` says why.
 *
 * @throws TableUnreadable  without a header, with a column twice, or where a quote is never closed (also while reading rows)
 */
export async function readTable(input: Readable, separator = ','): Promise<Table> {
  const parsed = parsedRows(input, 1, separator);
  const first = await parsed.next();
  if (first.done) throw new TableUnreadable('no_header', 'there is no header, need column names in the first row');
  const columns = first.value.cells.map((name) => name.trim());
  const fault = headerFault(columns);
  if (fault !== undefined) {
    await parsed.return(undefined);
    throw fault;
  }
  return { columns, rows: rowsBelow(columns, parsed) };
}

function headerFault(columns: readonly string[]): TableUnreadable | undefined {
  const unnamed = columns.indexOf('');
  if (unnamed >= 0) return new TableUnreadable('no_header', `column ${unnamed + 1} of the header has no name`);
  const seen = new Set<string>();
  const twice = columns.find((name) => seen.size === seen.add(name).size);
  if (twice === undefined) return undefined;
  return new TableUnreadable('column_twice', `the header has the column "${twice.slice(0, 60)}" twice`);
}

async function* rowsBelow(columns: readonly string[], parsed: AsyncIterable<ParsedRow>): AsyncGenerator<TableRow> {
  for await (const { row, cells } of parsed) {
    if (cells.length <= columns.length) {
      yield { row, cells: Object.fromEntries(columns.map((name, index) => [name, cells[index] ?? ''])) };
      continue;
    }
    const problem = `found ${cells.length} cells, need ${columns.length}. Is there a decimal comma? Write a point, or quote the cell.`;
    yield { row, cells: Object.fromEntries(columns.map((name) => [name, ''])), problem };
  }
}
