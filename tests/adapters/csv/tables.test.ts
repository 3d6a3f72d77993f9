import { Readable, Writable } from 'node:stream';
import { describe, expect, test } from 'vitest';
import { csvTables, readTable } from '#adapters/csv/tables.ts';

const streamOf = (text: string) => Readable.from([Buffer.from(text)]);

async function rowsOf(text: string) {
  const { rows } = await readTable(streamOf(text));
  const all = [];
  for await (const row of rows) all.push(row);
  return all;
}

describe('a table', () => {
  test('keeps its columns, counts its rows as an editor does and leaves blank lines out', async () => {
    const text =
      '\uFEFFtime, system ,value\r\n2026-01-01T00:00:00Z,display,7.9\r\n\r\n2026-01-02T00:00:00Z,"a, b",8\r\n';
    expect((await readTable(streamOf(text))).columns).toEqual(['time', 'system', 'value']);
    expect(await rowsOf(text)).toEqual([
      { row: 2, cells: { time: '2026-01-01T00:00:00Z', system: 'display', value: '7.9' } },
      { row: 4, cells: { time: '2026-01-02T00:00:00Z', system: 'a, b', value: '8' } },
    ]);
  });

  test('a decimal comma never turns 8,2 dKH into 8 with the 2 in the next column', async () => {
    const rows = await rowsOf('system,value,unit\ndisplay,8,2,dKH\ndisplay,8.3,dKH\n');
    expect(rows[0]).toMatchObject({ row: 2, cells: { system: '', value: '', unit: '' } });
    expect(rows[0]?.problem).toContain('found 4 cells, need 3');
    expect(rows[1]).toEqual({ row: 3, cells: { system: 'display', value: '8.3', unit: 'dKH' } });
  });

  test('a row that ends early has empty cells for the rest', async () => {
    expect(await rowsOf('a,b,c\n1\n')).toEqual([{ row: 2, cells: { a: '1', b: '', c: '' } }]);
  });

  test('an inch sign in a note is no broken file', async () => {
    expect(await rowsOf('a,b\n2" pipe,1\n')).toEqual([{ row: 2, cells: { a: '2" pipe', b: '1' } }]);
  });

  test.each([
    ['nothing at all', '', 'no_header'],
    ['a column without a name', 'a,,c\n', 'no_header'],
    ['a column twice, of which one would be lost', 'a,b,a\n', 'column_twice'],
  ])('%s is refused', async (_name, text, fault) => {
    await expect(readTable(streamOf(text))).rejects.toMatchObject({ code: 'TABLE_UNREADABLE', fault });
  });

  test('a quote that is never closed is told with its row, after the good rows before it', async () => {
    const { rows } = await readTable(streamOf('a,b\n1,2\n3,"4\n5,6\n'));
    const seen: number[] = [];
    const reading = (async () => {
      for await (const { row } of rows) seen.push(row);
    })();
    await expect(reading).rejects.toMatchObject({ fault: 'quote_open', message: expect.stringContaining('row 3') });
    expect(seen).toEqual([2]);
  });

  test('a quote opened at the top of a large file does not gather the file in memory', async () => {
    let given = 0;
    function* endless() {
      yield Buffer.from('a,b\n1,2\n3,"4\n');
      for (; given < 64; given++) yield Buffer.alloc(262_144, '5,6\n');
    }
    const { rows } = await readTable(Readable.from(endless()));
    const reading = (async () => {
      for await (const _ of rows);
    })();
    await expect(reading).rejects.toMatchObject({ fault: 'quote_open' });
    expect(given).toBeLessThan(12);
  });

  test('a stream that breaks is told and not taken for the end of the table', async () => {
    const breaking = new Readable({ read() {} });
    breaking.push('a,b\n1,2\n3,4\n5,6\n');
    const { rows } = await readTable(breaking);
    const reading = (async () => {
      for await (const _ of rows) breaking.destroy(new Error('unplugged'));
    })();
    await expect(reading).rejects.toMatchObject({ fault: 'not_readable', message: 'unplugged' });
  });

  test('a slow output holds the writer back instead of filling the memory', async () => {
    const taken: string[] = [];
    const slow = new Writable({
      highWaterMark: 8,
      write(chunk: Buffer, _encoding, done) {
        taken.push(chunk.toString());
        setTimeout(done, 1);
      },
    });
    for (let row = 0; row < 20; row++) {
      await csvTables.write(slow, csvTables.line(['row', row]));
      expect(slow.writableLength).toBeLessThanOrEqual(8);
    }
    expect(taken).toHaveLength(20);
  });
});
