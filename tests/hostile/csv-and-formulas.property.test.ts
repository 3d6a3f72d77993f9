import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { csvLine } from '#adapters/csv/cells.ts';
import { readTable } from '#adapters/csv/tables.ts';
import type { KeptEntry } from '#adapters/ports/store.ts';
import { isoWeekAt } from '#hub/model/calendar/iso-week.ts';
import { withoutHidden } from '#hub/model/refusals/hidden-characters.ts';
import type { Hub } from '#hub/room/hub.ts';
import { verbHere } from '../hub/cli/verb-here.ts';
import { ask } from '../hub/http/ask.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../servers/hub-process.ts';
import { patience } from '../servers/server-process.ts';
import { editedText, edits, hostileTexts } from './from-schema.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/**
 * What a spreadsheet runs: a cell that begins with one of these.
 *
 * @source OWASP, "CSV Injection" (from memory): = + - @, tab and carriage return; their full-width forms in some locales
 */
const runsInASpreadsheet = /^[=+\-@\t\r\n＝＋－＠]/;
const isNumber = /^[+-]?\d+(\.\d+)?([eE][+-]?\d+)?$/;

async function cellsOf(text: string): Promise<string[][]> {
  const table = await readTable(Readable.from([Buffer.from(`a,b,c\r\n${text}`)]));
  const rows: string[][] = [];
  for await (const { cells } of table.rows) rows.push(Object.values(cells));
  return rows;
}

describe('a cell of an export', () => {
  const text = fc.oneof(fc.string({ unit: 'binary', maxLength: 40 }), fc.constantFrom(...hostileTexts.slice(0, -1)));

  test('runs as a formula in the spreadsheet of whoever opens it, or changes its neighbours', async () => {
    await fc.assert(
      fc.asyncProperty(text, text, async (first, second) => {
        const [row] = await cellsOf(csvLine(['x', first, second]));
        expect(row).toHaveLength(3);
        for (const [at, given] of [first, second].entries()) {
          const read = row?.[at + 1] ?? '';
          if (!isNumber.test(read)) expect(read).not.toMatch(runsInASpreadsheet);
          // Nothing is lost: what was given is there, with at most the apostrophe before it. UTF-8 has no lone surrogates.
          const kept = Buffer.from(given).toString();
          // Where a list separator is a semicolon a cell begins behind each: what would run there has the apostrophe too.
          expect(read).not.toMatch(/;\s*[=+\-@＝＋－＠]/);
          const parted = isNumber.test(kept) ? kept : kept.replaceAll(/(;\s*)(?=[=+\-@＝＋－＠])/g, "$1'");
          expect([parted, `'${parted}`]).toContain(read);
        }
      }),
      { numRuns: 400 },
    );
  });
});

describe('what a person or a file says', () => {
  const scratch = scratchRoom();
  const text = roomText(scratch.dir, {
    systems: [
      {
        id: 'display',
        name: '=HYPERLINK("http://192.0.2.1")',
        volume_l: 420,
        bands: { temperature: { low: 25, high: 26.5 } },
      },
    ],
  });
  let hub: Hub;

  beforeAll(async () => {
    hub = await startHubHere(configOf(text));
  });
  afterAll(async () => {
    await hub?.stop();
    scratch.remove();
  });

  // What nobody sees is not taken: tests/hostile/hidden-and-doubled.test.ts.
  const notes = hostileTexts.filter((note) => note.length <= 500 && withoutHidden(note) === note);

  test('is kept otherwise than it was typed, or runs in the week of the spreadsheet', async () => {
    const before = (await ask(hub.url, '/api/entries?limit=1000')).json<KeptEntry[]>().length;
    for (const note of notes) {
      const body = { system: 'display', analyte: 'alkalinity', value: 8, note, by: note.slice(0, 60) || 'x' };
      expect((await ask(hub.url, '/api/tests', { body })).status).toBe(201);
    }
    const kept = (await ask(hub.url, '/api/entries?limit=1000')).json<KeptEntry[]>();
    expect(kept).toHaveLength(before + notes.length);
    // SQL in a note is a note: the journal gives back each text as it was.
    expect(kept.map(({ body }) => body['note']).reverse()).toEqual(notes);

    const week = isoWeekAt(Date.now(), 'Europe/Lisbon');
    const file = await ask(hub.url, `/api/weeks/${week}/tests-doses.csv`);
    expect(file.status).toBe(200);
    const rows = await readTable(Readable.from([Buffer.from(file.text)]));
    let told = 0;
    for await (const { cells } of rows.rows) {
      told += 1;
      for (const cell of Object.values(cells)) if (!isNumber.test(cell)) expect(cell).not.toMatch(runsInASpreadsheet);
    }
    expect(told).toBe(notes.length);
    const page = (await ask(hub.url, `/api/weeks/${week}/review.html`)).text;
    expect(page).not.toMatch(/<script|<img|onerror=(?!.*&)/i);
  });
});

describe('a file that is imported', () => {
  const scratch = scratchRoom();
  const configPath = join(scratch.dir, 'room.yaml');
  const config = roomText(scratch.dir);

  beforeAll(() => writeFileSync(configPath, config));
  afterAll(() => scratch.remove());

  const table = [
    'time,system,analyte,value,unit,sd,note',
    ...[
      '2026-01-05T10:00:00Z,display,alkalinity,8.1,dKH,0.1,good',
      '2026-01-06T10:00:00Z,display,calcium,420,mg/L,,"a, b"',
    ],
    ...['2026-01-07T10:00:00Z,display,magnesium,1350,,,'],
  ].join('\r\n');

  test.each([['tests'], ['doses'], ['water-changes'], ['readings']])(
    'a damaged file of %s ends the import, or is taken with a number that is none',
    { timeout: 60_000 * patience() },
    async (kind) => {
      await fc.assert(
        fc.asyncProperty(
          fc.oneof(
            edits.map((each) => editedText(table, each)),
            fc.string({ unit: 'binary', maxLength: 200 }),
          ),
          async (content) => {
            const path = join(scratch.dir, 'hostile.csv');
            writeFileSync(path, content);
            const { code, err } = await verbHere(['import', '--config', configPath, '--as', kind, path]);
            expect(err).not.toMatch(/\bat .*\.ts:\d+|TypeError|undefined/);
            expect(code === 0 || code === 1 || code === 2).toBe(true);
          },
        ),
        { numRuns: Number(process.env['HOSTILE_RUNS'] ?? 15) },
      );
      const hub = await startHubHere(configOf(config));
      const kept = (await ask(hub.url, '/api/entries?limit=1000')).json<KeptEntry[]>();
      expect(kept.map(({ body }) => JSON.stringify(body)).filter((body) => /[:,[]null/.test(body))).toEqual([]);
      expect((await ask(hub.url, '/api/room')).status).toBe(200);
      await hub.stop();
    },
  );

  test.each([
    [
      'the names of the prototype as columns',
      '__proto__,constructor,toString,time,system,analyte,value\n1,2,3,2026-01-05T10:00:00Z,display,calcium,420\n',
    ],
    [
      'a system that is the prototype',
      'time,system,analyte,value\n2026-01-05T10:00:00Z,__proto__,calcium,420\n2026-01-05T10:00:00Z,constructor,calcium,420\n',
    ],
    [
      'an analyte that is the prototype',
      'time,system,analyte,value\n2026-01-05T10:00:00Z,display,__proto__,420\n2026-01-05T10:00:00Z,display,toString,420\n',
    ],
    [
      'NaN, infinities and hexadecimals',
      'time,system,analyte,value\n2026-01-05T10:00:00Z,display,calcium,NaN\n2026-01-05T10:00:00Z,display,calcium,Infinity\n2026-01-05T10:00:00Z,display,calcium,1e999\n2026-01-05T10:00:00Z,display,calcium,0x1a4\n',
    ],
    ['a line of 5 MB', `time,system,analyte,value\n${'9'.repeat(5_000_000)}\n`],
    ['a quote that is never closed, and 5 MB behind it', `time,system,analyte,value\n"${'a,\n'.repeat(1_700_000)}`],
    ['100 000 columns', `${Array.from({ length: 100_000 }, (_, at) => `c${at}`).join()}\n1\n`],
  ])(
    '%s are taken, or end the import with more than a sentence',
    { timeout: 60_000 * patience() },
    async (what, content) => {
      const path = join(scratch.dir, 'hostile.csv');
      writeFileSync(path, content);
      const before = process.memoryUsage().rss;
      const dry = await verbHere(['import', '--config', configPath, '--as', 'tests', '--dry-run', path]);
      expect(dry.err).not.toMatch(/\bat .*\.ts:\d+|TypeError/);
      expect(dry.out + dry.err).toMatch(/\S/);
      if (!what.startsWith('the names')) expect(dry.out).not.toMatch(/would import [1-9]/);
      expect(process.memoryUsage().rss - before).toBeLessThan(400 * 1_048_576);
    },
  );
});
