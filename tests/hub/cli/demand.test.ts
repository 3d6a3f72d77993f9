import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, describe, expect, test, vi } from 'vitest';
import { scratchRoom } from '../../servers/hub-process.ts';
import { patience } from '../../servers/server-process.ts';
import { plainCells, verbHere } from './verb-here.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const columns = 'time,system,analyte,level,level_sd,demand_per_day,demand_sd,suspect';
const testHeader = 'time,system,analyte,value,unit,sd';
const day = (n: number, hour = 9) => new Date(Date.UTC(2026, 0, 1 + n, hour)).toISOString();

/** Invented tanks whose demand is known because the files were made from it. */
describe('demand from files', () => {
  const { dir, remove } = scratchRoom();
  afterAll(remove);
  const file = (name: string, lines: readonly string[]) => {
    const path = join(dir, name);
    writeFileSync(path, `${lines.join('\n')}\n`);
    return path;
  };
  const demand = (args: string[]) => verbHere(['demand', '--volume', '400', '--csv', ...args]);
  const lastOf = (out: string) => {
    const [header = [], ...rows] = plainCells(out);
    expect(header.join(',')).toBe(columns);
    return Object.fromEntries(header.map((name, index) => [name, rows.at(-1)?.[index] ?? '']));
  };

  test('a tank that falls by 0.4 dKH a day is said to use another amount', async () => {
    const tests = Array.from(
      { length: 12 },
      (_, n) => `${day(n)},display,alkalinity,${(11 - 0.4 * n).toFixed(2)},dKH,0.1`,
    );
    const { code, out } = await demand(['--tests', file('falling.csv', [testHeader, ...tests])]);
    expect(code).toBe(0);
    expect(plainCells(out)).toHaveLength(1 + tests.length);
    const last = lastOf(out);
    expect(Number(last['level'])).toBeCloseTo(11 - 0.4 * 11, 1);
    expect(Math.abs(Number(last['demand_per_day']) - 0.4)).toBeLessThan(0.06);
    expect(Number(last['demand_sd'])).toBeGreaterThan(0);
    expect(last['suspect']).toBe('false');
  });

  test('what is dosed every day is taken for nothing used', async () => {
    const tests = Array.from({ length: 15 }, (_, n) => `${day(n)},display,alkalinity,8,dKH,0.1`);
    // 10.5988 g Na2CO3 (105.988 g/mol) are 0.1 mol, two equivalents each: 0.5 meq/L in 400 L, 1.402 dKH a day
    // (1 meq/L = 2.80385 dKH: fixtures/reference/unit-conversions.csv).
    const doses = Array.from({ length: 15 }, (_, n) => `${day(n, 12)},display,sodium_carbonate,10.5988`);
    const { code, out } = await demand([
      ...['--tests', file('steady.csv', [testHeader, ...tests])],
      ...['--doses', file('doses.csv', ['time,system,substance,grams', ...doses])],
    ]);
    expect(code).toBe(0);
    expect(Math.abs(Number(lastOf(out)['demand_per_day']) - 1.402)).toBeLessThan(0.2);
  });

  test('a row tells what was only known later', async () => {
    const tests = Array.from(
      { length: 10 },
      (_, n) => `${day(n)},display,alkalinity,${(10 - 0.3 * n).toFixed(2)},dKH,0.1`,
    );
    const all = await demand(['--tests', file('all.csv', [testHeader, ...tests])]);
    const some = await demand(['--tests', file('some.csv', [testHeader, ...tests.slice(0, 6)])]);
    expect(plainCells(all.out).slice(0, 7)).toEqual(plainCells(some.out));
  });

  test('a bad row spoils the good ones, or is passed over in silence', async () => {
    const tests = Array.from({ length: 8 }, (_, n) => `${day(n)},display,alkalinity,8,dKH,0.1`);
    const spoilt = [
      ...tests.slice(0, 4),
      `${day(4)},display,alkalinity,eight,dKH,`,
      'soon,display,alkalinity,8,dKH,',
      ...tests.slice(4),
    ];
    const good = await demand(['--tests', file('good.csv', [testHeader, ...tests])]);
    const bad = await demand(['--tests', file('bad.csv', [testHeader, ...spoilt])]);
    expect(bad.code).toBe(1);
    expect(bad.err).toContain('bad.csv row 6: ');
    expect(bad.err).toContain('bad.csv row 7: ');
    expect(bad.out).toBe(good.out);
  });

  test('files as other programs write them lose rows: other units, CRLF, no order, several systems, empty cells', async () => {
    const crlf = (name: string, lines: readonly string[]) => {
      const path = join(dir, name);
      writeFileSync(path, `${lines.join('\r\n')}\r\n`);
      return path;
    };
    const { code, out, err } = await demand([
      '--tests',
      crlf('mixed.csv', [
        testHeader,
        `${day(3)},nursery,alkalinity,2.85,meq/L,`,
        `${day(0)},display,alkalinity,143,mg/L CaCO3,3`,
        `${day(2)},display,alkalinity,8,dKH,0.2`,
        `${day(0)},nursery,alkalinity,2.9,meq/L,0.05`,
        `${day(4)},display,calcium,420,mg/L,5`,
        `${day(1)},display,alkalinity,7.9,,`,
      ]),
      '--doses',
      crlf('unknown.csv', ['time,system,substance,grams', `${day(1)},display,moon dust,3`]),
      '--water-changes',
      crlf('changes.csv', [
        'time,system,volume_l,alkalinity_dkh,calcium_mg_l,magnesium_mg_l,salinity',
        `${day(1, 12)},display,40,,,,`,
      ]),
    ]);
    const [, ...rows] = plainCells(out);
    const found = rows.map(([time, system, analyte]) => [time, system, analyte]);
    expect(found).toEqual([
      ...[0, 1, 2].map((n) => [day(n), 'display', 'alkalinity']),
      ...[0, 3].map((n) => [day(n), 'nursery', 'alkalinity']),
    ]);
    // 143 mg/L CaCO3 / 17.848 = 8.012 dKH; 2.9 meq/L / 0.35665 = 8.131 dKH (fixtures/reference/unit-conversions.csv).
    expect(Number(rows[0]?.[3])).toBeCloseTo(8.012, 3);
    expect(Number(rows[3]?.[3])).toBeCloseTo(8.131, 3);
    expect(err).toContain('unknown.csv row 2: substance: found "moon dust"');
    expect(code).toBe(1);
  });

  test.each([
    ['a volume of nothing', ['demand', '--volume', '0', '--tests', 'x.csv']],
    ['no volume', ['demand', '--tests', 'x.csv']],
    ['no tests', ['demand', '--volume', '400']],
    ['a file that is not there', ['demand', '--volume', '400', '--tests', '/nowhere/tests.csv']],
    ['an analyte that is none', ['demand', '--volume', '400', '--tests', 'x.csv', '--analyte', 'vitality']],
  ])('%s looks like success', async (_what, args) => {
    const { code, err } = await verbHere(args);
    expect(code).toBe(2);
    expect(err).not.toMatch(/^\s+at /m);
  });
});
