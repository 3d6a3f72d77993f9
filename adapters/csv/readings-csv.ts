import { createReadStream } from 'node:fs';
import { Readable } from 'node:stream';
import type { BadRow, ReadingsBatch, RecordedReading } from '../ports/readings-files.ts';
import { parsedRows } from './parsed-rows.ts';
import { type DayCache, plainTimeAt, plainValueAt, timeMsOfText, valueOfText } from './reading-cells.ts';
import { createSeriesNames } from './series-names.ts';
import { TableUnreadable } from './table-unreadable.ts';

export type BadRowReason = 'cells' | 'time' | 'name' | 'value' | 'too_long' | 'quote_open';

type Batch = ReadingsBatch & { badRows: (BadRow & { reason: BadRowReason })[] };

const bytesInChunk = 262_144;
const mostBytesInRow = 4096;
const rowsInBatch = 4096;
const header = ['time', 'system', 'metric', 'value'];

const comma = 44;
const lineFeed = 10;
const carriageReturn = 13;
const quote = 34;

/**
 * Reads a file of recorded readings, `time,system,metric,value`, in batches and in the order of the file. Rows without
 * quotes go through a splitter of our own, since a year of a room is some twenty million of them; from the first quote
 * on, the parser for all of RFC 4180 takes over. A bad row is given with its number and reason and never stops the good.
 *
 * @throws TableUnreadable  when the file cannot be read or its header is another
 */
export async function* readReadingsCsv(path: string): AsyncGenerator<Batch> {
  const stream = createReadStream(path, { highWaterMark: bytesInChunk });
  const rows = createRowReader();
  let rest: Buffer = Buffer.alloc(0);
  let isHeaderRead = false;
  let isSkipping = false;
  const chunks = chunksOf(stream);
  try {
    for await (const chunk of chunks) {
      let bytes = rest.length === 0 ? chunk : Buffer.concat([rest, chunk]);
      rest = Buffer.alloc(0);
      if (isSkipping) {
        const end = bytes.indexOf(lineFeed);
        if (end < 0) continue;
        bytes = bytes.subarray(end + 1);
        rows.skipRow();
        isSkipping = false;
      }
      if (!isHeaderRead) {
        const end = bytes.indexOf(lineFeed);
        if (end < 0 && bytes.length <= mostBytesInRow) {
          rest = bytes;
          continue;
        }
        readHeader(bytes.subarray(0, end < 0 ? mostBytesInRow : end));
        isHeaderRead = true;
        rows.skipRow();
        bytes = bytes.subarray(end + 1);
      }
      const quoteAt = bytes.indexOf(quote);
      const wholeEnd = bytes.lastIndexOf(lineFeed, quoteAt < 0 ? undefined : quoteAt) + 1;
      yield rows.read(bytes, wholeEnd);
      rest = bytes.subarray(wholeEnd);
      if (quoteAt >= 0) {
        yield* quotedBatches(rest, chunks, rows.nextRow());
        return;
      }
      if (rest.length > mostBytesInRow) {
        yield rows.tooLong(rest);
        rest = Buffer.alloc(0);
        isSkipping = true;
      }
    }
  } finally {
    stream.destroy();
  }
  if (!isHeaderRead) readHeader(rest);
  // A last row without a line end may be torn, and a torn number is a wrong one only by luck of its digits: it is read
  // as it stands, as every reader of CSV does.
  else if (rest.length > 0) yield rows.read(Buffer.concat([rest, Buffer.from('\n')]), rest.length + 1);
}

async function* chunksOf(stream: Readable): AsyncGenerator<Buffer> {
  try {
    for await (const chunk of stream) yield chunk as Buffer;
  } catch (error) {
    throw new TableUnreadable('not_readable', error instanceof Error ? error.message : String(error));
  }
}

function readHeader(bytes: Buffer): void {
  const text = bytes
    .toString('utf8')
    .replace(/^\uFEFF/, '')
    .trimEnd();
  const names = text.split(',').map((name) => name.trim().replace(/^"(.*)"$/, '$1'));
  if (text === '') throw new TableUnreadable('no_header', `the file is empty, need the header ${header.join(',')}`);
  if (names.length === header.length && header.every((name, index) => names[index] === name)) return;
  throw new TableUnreadable('column_missing', `found the header ${text.slice(0, 80)}, need ${header.join(',')}`);
}

/** Splits rows that hold no quote. */
function createRowReader() {
  const seriesName = createSeriesNames();
  const day: DayCache = { key: -1, startMs: 0 };
  let row = 0;

  function readRow(bytes: Buffer, from: number, end: number, batch: Batch): void {
    const to = bytes[end - 1] === carriageReturn && end > from ? end - 1 : end;
    if (to === from) return;
    const first = bytes.indexOf(comma, from);
    const last = bytes.lastIndexOf(comma, to - 1);
    if (first > from && first < last) {
      const timeMs = plainTimeAt(bytes, from, first, day);
      const value = plainValueAt(bytes, last + 1, to);
      const name = seriesName(bytes, first + 1, last);
      if (!Number.isNaN(timeMs) && !Number.isNaN(value) && name !== undefined) {
        batch.readings.push({ timeMs, system: name.system, metric: name.metric, value });
        return;
      }
    }
    const text = bytes.toString('utf8', from, to);
    takeRow({ row, cells: text.split(',') }, text, batch);
  }

  return {
    nextRow: () => row + 1,
    skipRow: () => {
      row++;
    },
    tooLong: (bytes: Buffer): Batch => ({
      readings: [],
      badRows: [{ row: row + 1, reason: 'too_long', found: beginning(bytes.toString('utf8', 0, 60)) }],
    }),
    /** The rows up to `wholeEnd`, which follows a line end. */
    read(bytes: Buffer, wholeEnd: number): Batch {
      const batch: Batch = { readings: [], badRows: [] };
      let from = 0;
      while (from < wholeEnd) {
        const end = bytes.indexOf(lineFeed, from);
        row++;
        readRow(bytes, from, end, batch);
        from = end + 1;
      }
      return batch;
    },
  };
}

/** A row whose cells need a second look: other writings of times and numbers, or a reason to leave it out. */
function takeRow({ row, cells }: { row: number; cells: string[] }, text: string, batch: Batch): void {
  if (cells.length === 1 && cells[0]?.trim() === '') return;
  const read = readingOfCells(cells);
  if (typeof read === 'string') batch.badRows.push({ row, reason: read, found: beginning(text) });
  else batch.readings.push(read);
}

function readingOfCells(cells: readonly string[]): RecordedReading | BadRowReason {
  if (cells.length !== header.length) return 'cells';
  const [time = '', system = '', metric = '', value = ''] = cells.map((cell) => cell.trim());
  const timeMs = timeMsOfText(time);
  if (timeMs === undefined) return 'time';
  if (system === '' || metric === '') return 'name';
  const number = valueOfText(value);
  return number === undefined ? 'value' : { timeMs, system, metric, value: number };
}

function beginning(text: string): string {
  return text.length > 60 ? `${text.slice(0, 60)}…` : text;
}

/** The rest of a file from its first row with a quote on. */
async function* quotedBatches(begun: Buffer, chunks: AsyncIterable<Buffer>, firstRow: number): AsyncGenerator<Batch> {
  let batch: Batch = { readings: [], badRows: [] };
  let row = firstRow - 1;
  try {
    for await (const parsed of parsedRows(Readable.from(continued(begun, chunks)), firstRow)) {
      row = parsed.row;
      takeRow(parsed, parsed.cells.join(','), batch);
      if (batch.readings.length + batch.badRows.length >= rowsInBatch) {
        yield batch;
        batch = { readings: [], badRows: [] };
      }
    }
  } catch (error) {
    if (!(error instanceof TableUnreadable) || error.fault !== 'quote_open') throw error;
    batch.badRows.push({
      row: row + 1,
      reason: 'quote_open',
      found: 'a quote that is never closed, to the end of the file',
    });
  }
  yield batch;
}

async function* continued(begun: Buffer, chunks: AsyncIterable<Buffer>): AsyncGenerator<Buffer> {
  yield begun;
  yield* chunks;
}
