import { createReadStream } from 'node:fs';
import type { Tables } from '#adapters/ports/tables.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type Analyte, analytes } from '#rules/quantity/metric.ts';
import { isoTimeMs } from '../../model/calendar/iso-time.ts';
import { type DiaryEntry, diaryLineFrom } from '../advise/diary-lines.ts';
import { linesOf } from '../advise/lines-of.ts';

/** What a person entered, and the line of the file that says so. */
export type RecordedEntry = { where: string; timeMs: number; entry: DiaryEntry };

const isAnalyte = (text: string): text is Analyte => (analytes as readonly string[]).includes(text);

/**
 * Tests of a CSV file, `time,system,analyte,value,unit,sd`, in the order of the file.
 *
 * @param refuse  told of each row that is left out, with the reason
 * @throws TableUnreadable  when the file is no such table
 */
export async function recordedTests(
  path: string,
  tables: Tables,
  refuse: (line: string) => void,
): Promise<RecordedEntry[]> {
  const table = await tables.read(createReadStream(path));
  const tests: RecordedEntry[] = [];
  for await (const { row, cells } of table.rows) {
    const where = `${path} row ${row}`;
    const { system = '', analyte = '', unit = '' } = cells;
    const timeMs = isoTimeMs(cells['time']);
    const value = numberIn(cells['value']);
    const sd = numberIn(cells['sd']);
    if (timeMs === undefined || !isAnalyte(analyte) || value === undefined || Number.isNaN(value + (sd ?? 0))) {
      refuse(`${where}: need time (ISO 8601), system, analyte, value, unit, sd`);
      continue;
    }
    const time = new Date(timeMs).toISOString();
    const given = { ...(unit === '' ? {} : { unit }), ...defined({ sd }) };
    tests.push({ where, timeMs, entry: { kind: 'test', time, system, analyte, value, ...given } });
  }
  return tests;
}

/** Undefined for an empty cell, NaN for what is no number. */
function numberIn(cell: string | undefined): number | undefined {
  return cell === undefined || cell.trim() === '' ? undefined : Number(cell);
}

/**
 * Entries of a file of JSON lines, as `brinekeep advise` reads them; a question in it asks for nothing here.
 *
 * @param refuse  told of each line that is left out, with the reason
 */
export async function recordedEntries(path: string, refuse: (line: string) => void): Promise<RecordedEntry[]> {
  const entries: RecordedEntry[] = [];
  let number = 0;
  for await (const text of linesOf(createReadStream(path))) {
    number += 1;
    if (text.trim() === '') continue;
    const where = `${path} line ${number}`;
    const line = diaryLineFrom(text);
    if (line.is === 'bad') refuse(`${where}: ${line.why}`);
    else if (line.is === 'entry') entries.push({ where, timeMs: line.timeMs, entry: line.entry });
  }
  return entries;
}
