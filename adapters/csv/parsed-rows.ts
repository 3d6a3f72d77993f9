import type { Readable } from 'node:stream';
import { parse } from 'csv-parse';
import { TableUnreadable } from './table-unreadable.ts';

/** A quote that is never closed would otherwise gather the rest of the file in memory. */
const mostBytesInRow = 1_048_576;

/** A record and its number in the file: the first is `firstRow`; blank lines count and are not given. */
export type ParsedRow = { row: number; cells: string[] };

/**
 * The records of a CSV stream one by one: RFC 4180, with LF or CRLF. A quote inside an unquoted cell is taken as it is.
 *
 * @throws TableUnreadable  where a quote is opened and not closed, or the stream cannot be read
 */
export async function* parsedRows(input: Readable, firstRow: number, separator = ','): AsyncGenerator<ParsedRow> {
  let row = firstRow - 1;
  let isQuoteOpen = false;
  const parser = parse({
    bom: firstRow === 1,
    delimiter: separator,
    relax_column_count: true,
    relax_quotes: true,
    max_record_size: mostBytesInRow,
    // An error would also throw away the good rows before it that are not read yet. With this the stream ends in order.
    skip_records_with_error: true,
    on_skip: () => {
      isQuoteOpen = true;
      input.unpipe(parser);
      parser.end();
    },
  });
  input.on('error', (error) => parser.destroy(error));
  input.pipe(parser);
  try {
    for await (const cells of parser as AsyncIterable<string[]>) {
      row++;
      if (cells.length > 1 || cells[0]?.trim() !== '') yield { row, cells };
    }
  } catch (error) {
    throw new TableUnreadable('not_readable', error instanceof Error ? error.message : String(error));
  } finally {
    // Whoever stops reading early must not leave the file open.
    input.unpipe(parser);
    input.destroy();
    parser.destroy();
  }
  if (isQuoteOpen) throw new TableUnreadable('quote_open', `row ${row + 1}: a quote (") is opened and not closed`);
}
