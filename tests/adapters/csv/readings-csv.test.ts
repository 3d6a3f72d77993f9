import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { readReadingsCsv } from '#adapters/csv/readings-csv.ts';
import { TableUnreadable } from '#adapters/csv/table-unreadable.ts';
import type { BadRow, RecordedReading } from '#adapters/ports/readings-files.ts';
import { scratchFolder } from './scratch-folder.ts';

const folder = scratchFolder();
const header = 'time,system,metric,value\n';

async function read(text: string | Buffer): Promise<{ readings: RecordedReading[]; badRows: BadRow[] }> {
  const path = join(folder, 'readings.csv');
  writeFileSync(path, text);
  const all: { readings: RecordedReading[]; badRows: BadRow[] } = { readings: [], badRows: [] };
  for await (const batch of readReadingsCsv(path)) {
    all.readings.push(...batch.readings);
    all.badRows.push(...batch.badRows);
  }
  return all;
}

const good = (time: string, system: string, metric: string, value: number) => ({
  timeMs: Date.parse(time),
  system,
  metric,
  value,
});

describe('rows', () => {
  test('times with any offset, with and without milliseconds, are the same moments as by the platform', async () => {
    const times = [
      '2026-03-29T00:59:59Z',
      '2026-03-29T02:00:00+01:00',
      '2026-03-29T06:30:00.250+05:30',
      '2026-03-28T21:30:00-03:30',
      '2024-02-29T23:59:59.999Z',
    ];
    const { readings, badRows } = await read(header + times.map((time) => `${time},display,ph,8.1\n`).join(''));
    expect(badRows).toEqual([]);
    expect(readings).toEqual(times.map((time) => good(time, 'display', 'ph', 8.1)));
  });

  test('a time without an offset is UTC, whatever the zone of the machine', async () => {
    const { readings } = await read(
      `${header}2026-07-01T12:00:00,a,ph,8\n2026-07-01 12:00:00Z,a,ph,8\n2026-07-01T12:00Z,a,ph,8\n`,
    );
    expect(readings).toEqual(Array.from({ length: 3 }, () => good('2026-07-01T12:00:00Z', 'a', 'ph', 8)));
  });

  test('line ends of any kind, blank lines, a byte order mark and a last row without a line end are read', async () => {
    const rows = '2026-01-01T00:00:00Z,a,ph,8.1\r\n\r\n2026-01-01T00:00:01Z,a,ph,8.2\n\n2026-01-01T00:00:02Z,a,ph,8.3';
    const { readings, badRows } = await read(`\uFEFFtime,system,metric,value\r\n${rows}`);
    expect(readings.map(({ value }) => value)).toEqual([8.1, 8.2, 8.3]);
    expect(badRows).toEqual([]);
  });

  test('bad rows are kept aside with number and reason, and the good ones go on', async () => {
    const rows = [
      '2026-01-01T00:00:00Z,a,ph,8.1',
      '2026-02-30T00:00:00Z,a,ph,8.1',
      '2026-01-01T00:00:00Z,a,ph,8,1',
      '2026-01-01T00:00:00Z,a,ph',
      '2026-01-01T00:00:00Z,,ph,8.1',
      '2026-01-01T00:00:00Z,a,,8.1',
      '2026-01-01T00:00:00Z,a,ph,',
      '2026-01-01T00:00:00Z,a,ph,NaN',
      '2026-01-01T00:00:00Z,a,ph,0x10',
      '2026-01-01T00:00:00Z,a,ph,1e400',
      '2026-01-01T24:30:00Z,a,ph,8.1',
      '2026-01-01T00:00:00X,a,ph,8.1',
      '2026-01-01T00:00:0é,a,ph,8.1',
      '\u0000\u0001',
      '2026-01-01T00:00:01Z,a,ph,8.2',
    ];
    const { readings, badRows } = await read(header + rows.join('\n'));
    expect(readings.map(({ value }) => value)).toEqual([8.1, 8.2]);
    expect(badRows.map(({ row, reason }) => [row, reason])).toEqual([
      [3, 'time'],
      [4, 'cells'],
      [5, 'cells'],
      [6, 'name'],
      [7, 'name'],
      [8, 'value'],
      [9, 'value'],
      [10, 'value'],
      [11, 'value'],
      [12, 'time'],
      [13, 'time'],
      [14, 'time'],
      [15, 'cells'],
    ]);
    expect(badRows[1]?.found).toBe('2026-01-01T00:00:00Z,a,ph,8,1');
  });

  test('from the first quote on the rows are read by RFC 4180, and their numbers go on', async () => {
    const rows = [
      '2026-01-01T00:00:00Z,a,ph,8.1',
      '2026-01-01T00:00:01Z,"tank, left",ph,8.2',
      '"2026-01-01T00:00:02Z","a ""b""","ph","8.3"',
      '2026-01-01T00:00:03Z,a,ph,x',
      '',
      '2026-01-01T00:00:04Z,a,ph,8.4',
    ];
    const { readings, badRows } = await read(header + rows.join('\r\n'));
    expect(readings.map(({ system, value }) => [system, value])).toEqual([
      ['a', 8.1],
      ['tank, left', 8.2],
      ['a "b"', 8.3],
      ['a', 8.4],
    ]);
    expect(badRows).toEqual([{ row: 5, reason: 'value', found: '2026-01-01T00:00:03Z,a,ph,x' }]);
  });

  test('a quote that is never closed is told with its row and does not take the rows before it', async () => {
    const { readings, badRows } = await read(
      `${header}2026-01-01T00:00:00Z,a,ph,8.1\n2026-01-01T00:00:01Z,"a,ph,8.2\n`,
    );
    expect(readings).toHaveLength(1);
    expect(badRows).toMatchObject([{ row: 3, reason: 'quote_open' }]);
  });

  test('a line without an end does not fill the memory, and the rows after it are read', async () => {
    const long = 'x'.repeat(700_000);
    const { readings, badRows } = await read(
      `${header}2026-01-01T00:00:00Z,a,ph,8.1\n${long}\n2026-01-01T00:00:01Z,a,ph,8.2\nbad\n`,
    );
    expect(readings.map(({ value }) => value)).toEqual([8.1, 8.2]);
    expect(badRows.map(({ row, reason }) => [row, reason])).toEqual([
      [3, 'too_long'],
      [5, 'cells'],
    ]);
  });

  test('rows that are cut by the borders of the chunks are whole again', async () => {
    const start = Date.UTC(2026, 0, 1);
    const expected = Array.from({ length: 40_000 }, (_, at) => ({
      timeMs: start + at * 1000,
      system: `tank-${at % 7}`,
      metric: at % 2 === 0 ? 'ph' : 'temperature',
      value: (at % 9973) / 1000,
    }));
    const rows = expected.map(
      ({ timeMs, system, metric, value }) => `${new Date(timeMs).toISOString()},${system},${metric},${value}`,
    );
    const { readings, badRows } = await read(`${header}${rows.join('\n')}\n`);
    expect(badRows).toEqual([]);
    expect(readings).toEqual(expected);
  });

  test('the fast digits give the very number that the platform reads', async () => {
    const number = fc.oneof(
      fc.double({ noNaN: true, noDefaultInfinity: true }).map(String),
      fc
        .tuple(fc.boolean(), fc.nat(99_999), fc.stringMatching(/^[0-9]{1,12}$/))
        .map(([minus, whole, part]) => `${minus ? '-' : ''}${whole}.${part}`),
      fc.constantFrom('-0.5', '.5', '5.', '+8.1', '007', '1e-3', '123456789012345678', '0.1234567890123456789'),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(number, { minLength: 1, maxLength: 50 }), async (numbers) => {
        const { readings } = await read(header + numbers.map((text) => `2026-01-01T00:00:00Z,a,ph,${text}\n`).join(''));
        expect(readings.map(({ value }) => value)).toEqual(numbers.map(Number));
      }),
      { numRuns: 100 },
    );
  });

  test('no bytes at all can stop the reader without a reason', async () => {
    const piece = fc.oneof(
      fc.uint8Array({ maxLength: 20 }).map((bytes) => Buffer.from(bytes)),
      fc.constantFrom('2026-01-01T00:00:00Z', ',', '\n', '"', '\r\n', 'a', '8.1', '-').map((text) => Buffer.from(text)),
    );
    await fc.assert(
      fc.asyncProperty(fc.array(piece, { maxLength: 40 }), async (pieces) => {
        const { readings } = await read(Buffer.concat([Buffer.from(header), ...pieces]));
        for (const { timeMs, value } of readings) expect(Number.isFinite(timeMs) && Number.isFinite(value)).toBe(true);
      }),
      { numRuns: 300 },
    );
  });
});

describe('the file as a whole', () => {
  test.each([
    ['an empty file', '', 'no_header'],
    ['a file without its header', '2026-01-01T00:00:00Z,a,ph,8.1\n', 'column_missing'],
    ['a file of tests', 'time,system,analyte,value,unit,sd\n', 'column_missing'],
    ['a file with semicolons', 'time;system;metric;value\n', 'column_missing'],
    ['a file of one endless line', 'x'.repeat(600_000), 'column_missing'],
  ])('%s is refused with its reason', async (_name, text, fault) => {
    await expect(read(text)).rejects.toMatchObject({ code: 'TABLE_UNREADABLE', fault });
  });

  test('a header alone is a file without readings', async () => {
    expect(await read('time,system,metric,value')).toEqual({ readings: [], badRows: [] });
  });

  test('a file that is not there is told', async () => {
    const reading = readReadingsCsv(join(folder, 'none.csv')).next();
    await expect(reading).rejects.toBeInstanceOf(TableUnreadable);
    await expect(readReadingsCsv(folder).next()).rejects.toMatchObject({ fault: 'not_readable' });
  });
});
