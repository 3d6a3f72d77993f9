import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { adaptersForVerbs } from '#hub/compose.ts';
import { roomText, scratchRoom } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { verbHere } from '../cli/verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const bands = { temperature: { low: 25, high: 26.5 }, alkalinity: { low: 7.5, high: 9 } };

describe('a history is imported', () => {
  let scratch: ReturnType<typeof scratchRoom>;
  let config: string;

  beforeEach(() => {
    scratch = scratchRoom();
    config = join(scratch.dir, 'room.yaml');
    const text = roomText(scratch.dir, {
      systems: [{ id: 'display', name: 'Display (invented)', volume_l: 400, bands }],
      probes: [{ id: 'sump-t', system: 'display', metric: 'temperature', mqtt: { topic: 't' } }],
    });
    writeFileSync(config, text);
  });
  afterEach(() => scratch.remove());

  const file = (name: string, lines: readonly string[]) => {
    const path = join(scratch.dir, name);
    writeFileSync(path, `${lines.join('\n')}\n`);
    return path;
  };
  const take = (as: string, path: string, ...flags: string[]) =>
    verbHere(['import', '--config', config, '--as', as, ...flags, path]);

  function inStore() {
    const path = join(scratch.dir, 'data', 'brinekeep.db');
    const store = adaptersForVerbs.hub.openStore({ path, flushMs: 1000, onFault: () => {} });
    try {
      const readings = store
        .series()
        .flatMap((series) =>
          store.readings(series, 0, Date.now()).map(({ timeMs, value, flag }) => ({ ...series, timeMs, value, flag })),
        );
      return { readings, journal: store.journal({ history: true }) };
    } finally {
      store.close();
    }
  }

  const fahrenheit = [
    'Date,Tank temp,pH,Remark',
    // 78 °F = (78 - 32) / 1.8 = 25.5556 °C; 02:30 in summer time of Berlin is 00:30 UTC.
    '07/01/2026 02:30,78,8.1,',
    '07/01/2026 02:35,78.9,"8,12",a decimal comma',
    '07/01/2026 02:40,,8.13,no temperature',
    '13/45/2026 02:45,78,8.1,',
    '07/01/2026 02:50,warm,8.1,',
    '07/01/2026 02:55,1000,8.1,',
  ];
  const asLog = [
    ...['--system', 'display', '--zone', 'Europe/Berlin', '--time', 'MM/dd/yyyy HH:mm', '--column', 'time=Date'],
    ...['--value', 'temperature:°F=Tank temp', '--value', 'ph=pH'],
  ];

  test('the dry run writes something, or tells something else than what is taken then', async () => {
    const path = file('log.csv', fahrenheit);
    const dry = await take('readings', path, ...asLog, '--dry-run');
    expect(dry.err).toBe('');
    expect(inStore().readings).toEqual([]);
    const done = await take('readings', path, ...asLog);
    expect(dry.out.replaceAll('would import', 'imported')).toBe(done.out);
    expect(done.out).toContain('imported 3 readings of display temperature (probe sump-t), 2026-07-01T00:30:00.000Z');
    expect(done.out).toContain('imported 5 readings of display ph (probe imported)');
    expect(done.out).toContain(
      'left out 2: not a time as --time "MM/dd/yyyy HH:mm" writes it: row 5 (13/45/2026 02:45), row 5',
    );
    expect(done.out).toContain(
      'left out 1: not a number; 1,300 could be a thousand or a decimal: write 1300 or 1.3: row 6 (warm)',
    );
    expect([dry.code, done.code]).toEqual([1, 1]);
  });

  test('a unit or a zone is not converted, or nonsense passes as good', async () => {
    await take('readings', file('log.csv', fahrenheit), ...asLog);
    const { readings } = inStore();
    const temperatures = readings.filter(({ metric }) => metric === 'temperature');
    // @source exact: °C = (°F - 32) / 1.8
    expect(temperatures[0]?.value).toBeCloseTo(25.555_555_6, 6);
    expect(new Date(temperatures[0]?.timeMs ?? 0).toISOString()).toBe('2026-07-01T00:30:00.000Z');
    // 1000 °F is kept as evidence and counts for nothing.
    expect(temperatures.map(({ flag }) => flag)).toEqual(['pass', 'pass', 'fail']);
    expect(readings.filter(({ metric }) => metric === 'ph').map(({ value }) => value)).toEqual([
      8.1, 8.12, 8.13, 8.1, 8.1,
    ]);
  });

  test('the same file a second time doubles the record, or changes it', async () => {
    const path = file('log.csv', fahrenheit);
    await take('readings', path, ...asLog);
    const before = inStore();
    const again = await take('readings', path, ...asLog);
    expect(again.out).toContain('3 readings of display temperature (probe sump-t) already in the store');
    expect(again.out).not.toContain('imported ');
    expect(inStore()).toEqual(before);
    const other = file('other.csv', ['time,system,metric,value', '2026-07-01T00:30:00Z,display,temperature,20']);
    expect((await take('readings', other)).out).toContain(
      '1 reading of display temperature (probe sump-t) already in the store',
    );
    expect(inStore()).toEqual(before);
  });

  test('two values of one time are both taken, or rows of nowhere', async () => {
    const path = file('long.csv', [
      'time,system,metric,value',
      '2026-07-01T00:30:00Z,display,temperature,25.5',
      '2026-07-01T00:30:00Z,display,temperature,25.6',
      '2026-07-01T00:31:00Z,pond,temperature,25.6',
      '2026-07-01T00:32:00Z,display,glow,25.6',
      '2126-07-01T00:32:00Z,display,temperature,25.6',
      '2026-07-01T00:33:00Z,display,temperature,"25,6",extra',
    ]);
    const { out } = await take('readings', path);
    expect(out).toContain('imported 1 reading of display temperature');
    expect(out).toContain('left out 1: a second value for the same time: row 3 (25.6)');
    expect(out).toContain('left out 1: no system "pond" is configured: row 4');
    expect(out).toContain('left out 1: there is no metric "glow": row 5');
    expect(out).toContain('left out 1: a time before 2000 or in the future: row 6');
    expect(out).toContain('found 5 cells, need 4');
    expect(inStore().readings).toHaveLength(1);
  });

  const notebook = [
    'Day,Alk,Ca,What',
    // 1 dKH is 10 mg/L of CaO: 2.9 meq/L × (56.077 g/mol / 2) / 10 = 8.1312 dKH
    '2026-07-01T09:00,2.9,420,',
    '2026-07-02T09:00,"3,0",,',
    '2026-07-03T09:00,300,421,in another unit',
  ];
  const asNotebook = [
    ...['--system', 'display', '--column', 'time=Day', '--column', 'note=What', '--zone', 'UTC'],
    ...['--value', 'alkalinity:meq/L=Alk', '--value', 'calcium=Ca'],
  ];

  test('tests of a notebook are lost, doubled, or taken in the wrong unit', async () => {
    const path = file('notebook.csv', notebook);
    const dry = await take('tests', path, ...asNotebook, '--dry-run');
    expect(inStore().journal).toEqual([]);
    const done = await take('tests', path, ...asNotebook);
    expect(dry.out.replaceAll('would import', 'imported')).toBe(done.out);
    expect(done.out).toContain('imported 4 tests of display, 2026-07-01T09:00:00.000Z to 2026-07-03T09:00:00.000Z');
    expect(done.out).toMatch(/left out 1: alkalinity: found 300 meq\/L, allowed 0 to 25 dKH.*row 4/);
    const { journal } = inStore();
    const alkalinity = journal.filter(({ body }) => body['analyte'] === 'alkalinity').map(({ body }) => body['value']);
    // @source molar mass of CaO, 56.077 g/mol (IUPAC abridged atomic weights)
    expect(alkalinity[0]).toBeCloseTo((2.9 * 56.077) / 20, 3);
    await take('tests', path, ...asNotebook);
    expect(inStore().journal).toEqual(journal);
  });

  test('doses and water changes are lost, or one that was taken back comes again', async () => {
    const doses = file('doses.csv', [
      'time,system,substance,grams',
      '2026-07-01T09:00:00Z,display,sodium_bicarbonate,12',
      '2026-07-01T09:00:00Z,display,stardust,12',
    ]);
    const done = await take('doses', doses);
    expect(done.out).toContain('imported 1 dose of display');
    expect(done.out).toContain('left out 1: no substance is called "stardust"');
    const changes = file('changes.csv', [
      'time,system,volume_l,alkalinity_dkh,calcium_mg_l,magnesium_mg_l,salinity',
      '2026-07-01T10:00:00Z,display,40,8,,,35',
      '2026-07-02T10:00:00Z,display,4000,8,,,35',
    ]);
    const changed = await take('water-changes', changes);
    expect(changed.out).toContain('imported 1 water change of display');
    expect(changed.out).toContain('the whole system holds 400 litres');
    expect((await take('water-changes', changes)).out).toContain('1 water change of display already in the store');
    expect(
      inStore()
        .journal.map(({ kind }) => kind)
        .toSorted(),
    ).toEqual(['dose', 'water_change']);
  });

  test('a table as spreadsheets of half of Europe write it is not read, or read ten or a thousand times too small', async () => {
    const path = file('log.csv', [
      '\uFEFFDatum;Uhrzeit;Temp;pH;Leitwert',
      '03.07.2026;08:00;25,625;8,12;53100',
      '03.07.2026;20:00;25,7;8,3;53050',
    ]);
    const flags = [
      ...['--system', 'display', '--time', 'dd.MM.yyyy HH:mm', '--zone', 'UTC', '--column', 'time=Datum+Uhrzeit'],
      ...['--value', 'temperature=Temp', '--value', 'ph=pH', '--value', 'conductivity:µS/cm=Leitwert'],
    ];
    const refused = await take('readings', path, ...flags);
    expect(refused.code).toBe(2);
    expect(refused.err).toContain('its header is one column, "Datum;Uhrzeit;Temp;pH;Leitwert": try --separator ";"');
    const { code, err } = await take('readings', path, ...flags, '--separator', ';');
    expect({ code, err }).toEqual({ code: 0, err: '' });
    const { readings } = inStore();
    const of = (wanted: string) => readings.filter(({ metric }) => metric === wanted);
    expect(of('temperature').map(({ value }) => value)).toEqual([25.625, 25.7]);
    expect(of('ph').map(({ value }) => value)).toEqual([8.12, 8.3]);
    expect(of('conductivity').map(({ value }) => value)).toEqual([expect.closeTo(53.1, 9), expect.closeTo(53.05, 9)]);
    expect(of('ph').map(({ timeMs }) => new Date(timeMs).toISOString())).toEqual([
      '2026-07-03T08:00:00.000Z',
      '2026-07-03T20:00:00.000Z',
    ]);
  });

  test('a magnesium of 1,300 mg/L becomes one of 1.3', async () => {
    const path = file('notebook.csv', ['Day,Mg,PO4', '2026-07-01 09:00,"1,300","0,085"', '2026-07-02 09:00,1310,']);
    const { out } = await take(
      ...(['tests', path, '--system', 'display', '--column', 'time=Day'] as const),
      ...['--value', 'magnesium=Mg', '--value', 'phosphate=PO4'],
    );
    expect(out).toContain('left out 1: Mg: not a number; 1,300 could be a thousand or a decimal');
    const values = inStore().journal.map(({ body }) => [body['analyte'], body['value']]);
    expect(values).toEqual(
      expect.arrayContaining([
        ['phosphate', 0.085],
        ['magnesium', 1310],
      ]),
    );
    expect(values).toHaveLength(2);
  });

  test('a mistake in the flags is taken for a wish', async () => {
    const path = file('log.csv', fahrenheit);
    const slips: [string[], RegExp][] = [
      [['--column', 'tme=Date'], /has no "tme", it has: time, system/],
      [['--value', 'temperature:°X=Tank temp'], /temperature has no unit "°X", it has: °C/],
      [['--value', 'heat=Tank temp'], /there is no metric "heat"/],
      [['--separator', 'none'], /need one character such as ; or the word tab/],
      [['--zone', 'Mars/Base'], /no time zone "Mars\/Base"/],
      [['--column', 'time=Datum', '--system', 'display'], /no column "Datum"; it has: Date, Tank temp, pH, Remark/],
    ];
    for (const [flags, words] of slips) {
      const { code, err } = await take('readings', path, ...flags);
      expect(err).toMatch(words);
      expect(code).toBe(2);
    }
    expect((await take('readings', join(scratch.dir, 'none.csv'))).code).toBe(2);
  });

  test.each([
    [
      'readings',
      ['2026-07-01T00:30:00Z,display,temperature,25.5'],
      'its header is 2026-07-01T00:30:00Z, display, temperature, 25.5; need time, system, metric, value; missing time, system, metric, value. Say what the file calls a column with --column time="its name", or name the system of all rows with --system, or name a column that holds one metric with --value temperature="its name".',
    ],
    [
      'tests',
      ['Day,system,Alk', '2026-07-01T09:00,display,8.1'],
      'its header is Day, system, Alk; need time, system, analyte, value; missing time, analyte, value. Say what the file calls a column with --column time="its name", or name a column that holds one metric with --value alkalinity="its name".',
    ],
    [
      'doses',
      ['time,system,what,grams'],
      'its header is time, system, what, grams; need time, system, substance or stock, grams or ml; missing substance or stock. Say what the file calls a column with --column substance="its name".',
    ],
    [
      'water-changes',
      ['time,litres'],
      'its header is time, litres; need time, system, volume_l; missing system, volume_l. Say what the file calls a column with --column system="its name", or name the system of all rows with --system.',
    ],
  ])('a wrong header of %s passes as a file without rows, or is told row by row', async (as, lines, words) => {
    const path = file('wrong.csv', lines);
    const { code, out, err } = await take(as, path);
    expect({ code, out, err: err.trim() }).toEqual({ code: 1, out: '', err: `${path}: ${words}` });
    expect(inStore()).toEqual({ readings: [], journal: [] });
  });
});
