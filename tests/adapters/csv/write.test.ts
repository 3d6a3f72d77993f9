import { mkdirSync, readdirSync, readFileSync, utimesSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { csvLine } from '#adapters/csv/cells.ts';
import { readTable } from '#adapters/csv/tables.ts';
import { writeWholeFile } from '#adapters/csv/write-file.ts';
import { cellsByPython } from './independent-reader.ts';
import { scratchFolder } from './scratch-folder.ts';

const folder = scratchFolder();

describe('cells', () => {
  // RFC 4180, section 2: rules 1 (CRLF), 5, 6 (quotes around comma, quote and line break) and 7 (a quote is doubled).
  test.each([
    [['aaa', 'bbb', 'ccc'], 'aaa,bbb,ccc\r\n'],
    [['aaa', 'b\r\nbb', 'ccc'], 'aaa,"b\r\nbb",ccc\r\n'],
    [['aaa', 'b"bb', 'ccc'], 'aaa,"b""bb",ccc\r\n'],
    [['a\nb', 'c\rd'], '"a\nb","c\rd"\r\n'],
    [['a,b', undefined, 8.05], '"a,b",,8.05\r\n'],
  ])('%j is written by RFC 4180', (cells, line) => {
    expect(csvLine(cells)).toBe(line);
  });

  // The starts are those of the OWASP page on CSV injection (from memory).
  test.each(['=1+1', '+cmd', '-cmd', '@SUM(A1)', '\t=1', '\r=1', '\n=1', '＝1+1', "=cmd|' /C calc'!A0", '-1+2'])(
    'the note %j cannot run in a spreadsheet',
    (note) => {
      const path = join(folder, 'formula.csv');
      writeFileSync(path, csvLine(['note', note]));
      expect(cellsByPython(path)).toEqual([['note', `'${note}`]]);
    },
  );

  test('numbers stay numbers, also below zero and as text', () => {
    expect(csvLine([-1.5, 0, -0, 1e-7, 1e21, '-1.5', '+2', '8e-3'])).toBe('-1.5,0,0,1e-7,1e+21,-1.5,+2,8e-3\r\n');
  });

  test('a number that is none never reaches a file', () => {
    expect(() => csvLine([Number.NaN])).toThrow(RangeError);
    expect(() => csvLine([Number.POSITIVE_INFINITY])).toThrow(RangeError);
  });

  test('any text comes back the same through two other readers', async () => {
    const text = fc.string({ unit: 'grapheme', maxLength: 12 });
    const sign = fc.array(fc.constantFrom('"', ',', '\r\n', '\n', ' ', 'é', '°C', "'", 'a', '#'), { maxLength: 6 });
    const signs = sign.map((parts) => parts.join(''));
    // What a spreadsheet could run gets its apostrophe, which the tests above are about.
    const canRun = /^[\t\r\n]|(^|;)\s*[=+\-@＝＋－＠]/;
    const cell = fc.oneof(text, signs).filter((made) => !canRun.test(made));
    const table = fc.array(fc.tuple(fc.constant('row'), cell, cell), { minLength: 1, maxLength: 60 });
    await fc.assert(
      fc.asyncProperty(table, async (rows) => {
        const path = join(folder, 'any.csv');
        const header = ['kind', 'first', 'second'];
        const file = [header, ...rows].map((cells) => csvLine(cells)).join('');
        writeFileSync(path, file);
        expect(cellsByPython(path)).toEqual([header, ...rows]);
        const read = await readTable(Readable.from([Buffer.from(file)]));
        const back: string[][] = [];
        for await (const { cells } of read.rows) back.push(header.map((name) => cells[name] ?? '?'));
        expect(back).toEqual(rows);
      }),
      { numRuns: 12 },
    );
  });
});

describe('a file is written whole or not at all', () => {
  test('the new text replaces the old, folders are made and no draft is left behind', async () => {
    const path = join(folder, 'deep', 'er', 'week.csv');
    await writeWholeFile(path, 'a\r\n');
    await writeWholeFile(path, 'bé\r\n');
    expect(readFileSync(path, 'utf8')).toBe('bé\r\n');
    expect(readdirSync(join(folder, 'deep', 'er'))).toEqual(['week.csv']);
  });

  test('what a killed write left stays for ever, or a file of somebody else goes with it', async () => {
    const place = join(folder, 'killed');
    const deeper = join(place, 'deeper');
    mkdirSync(deeper, { recursive: true });
    const left = ['.daily-2026-W46.csv.00ff00ff00ff.tmp', '.review-2026-W46.html.0123456789ab.tmp'];
    const foreign = [
      '.notes.tmp',
      '.daily.csv.tmp',
      'daily.csv.00ff00ff00ff.tmp',
      '.daily.csv.00FF.tmp',
      '.k.00ff00ff00ff.tmp',
    ];
    const anHourAgo = new Date(Date.now() - 3_600_000);
    const old = (path: string) => {
      writeFileSync(path, 'half');
      utimesSync(path, anHourAgo, anHourAgo);
    };
    for (const name of [...left, ...foreign]) old(join(place, name));
    old(join(deeper, left[0]!));
    // Of a write that runs beside this one.
    const running = '.daily-2026-W48.csv.abcdefabcdef.tmp';
    writeFileSync(join(place, running), 'half');
    mkdirSync(join(place, '.folder.csv.00ff00ff00ff.tmp'));
    utimesSync(join(place, '.folder.csv.00ff00ff00ff.tmp'), anHourAgo, anHourAgo);

    await writeWholeFile(join(place, 'daily-2026-W47.csv'), 'whole');
    const kept = [...foreign, running, 'deeper', '.folder.csv.00ff00ff00ff.tmp', 'daily-2026-W47.csv'];
    expect(readdirSync(place).toSorted()).toEqual(kept.toSorted());
    expect(readdirSync(deeper)).toEqual([left[0]]);
  });

  test('a write that fails keeps the old file and leaves no draft', async () => {
    const place = join(folder, 'taken');
    mkdirSync(join(place, 'week.csv', 'inside'), { recursive: true });
    await expect(writeWholeFile(join(place, 'week.csv'), 'new')).rejects.toThrow();
    expect(readdirSync(place)).toEqual(['week.csv']);
    expect(readdirSync(join(place, 'week.csv'))).toEqual(['inside']);
  });

  test('a folder that may not be written is told and not swallowed', async () => {
    // Nobody, root included, may make a file there.
    await expect(writeWholeFile('/proc/self/fdinfo/week.csv', 'new')).rejects.toThrow(/EACCES|EPERM|ENOENT/);
  });

  test('whoever reads meanwhile sees the old text or the new one, never a part', async () => {
    const path = join(folder, 'watched.csv');
    const texts = ['x'.repeat(400_000), 'y'.repeat(700_000)];
    await writeWholeFile(path, texts[0]!);
    let isWriting = true;
    const writing = (async () => {
      for (let turn = 1; turn <= 10; turn++) await writeWholeFile(path, texts[turn % 2]!);
      isWriting = false;
    })();
    const seen = new Set<string>();
    while (isWriting) {
      seen.add(readFileSync(path, 'utf8'));
      await new Promise((resolve) => setImmediate(resolve));
    }
    await writing;
    for (const text of seen) expect(texts.includes(text)).toBe(true);
  });
});
