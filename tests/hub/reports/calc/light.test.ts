import { describe, expect, it } from 'vitest';
import { runCalc } from './run-calc.ts';

const pairs = ['--pair', '0=50', '--pair', '10=100', '--pair', '20=200', '--pair', '30=400'];
/** Eightfold in eight days is steeper than the 15 % a day that a plan keeps to by itself. */
const steep = ['--most_ratio', '2'];
const table = 'height_cm,par\n30,400\n0,50\n20,200\n10,100\n';

const rowsOf = (out: string) =>
  out
    .trimEnd()
    .split('\r\n')
    .slice(1)
    .map((line) => line.split(',').map(Number));

describe('calc light', () => {
  // 1.8 to 14.4 mol/m² in steps of 1.8 over ten hours; heights 10·log2(PAR/50), rounded.
  it('the rack is set to other heights than those worked by hand', async () => {
    const { out, code } = await runCalc([
      'light',
      ...pairs,
      '--start',
      '50',
      '--target',
      '400',
      '--days',
      '8',
      ...steep,
    ]);
    expect(out.split('\r\n')[0]).toBe('day,height_cm,par,dli');
    const rows = rowsOf(out);
    expect(rows.map(([day]) => day)).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
    expect(rows.map(([, height]) => height)).toEqual([0, 10, 16, 20, 23, 26, 28, 30]);
    expect(rows[0]).toEqual([1, 0, 50, 1.8]);
    expect(rows[7]).toEqual([8, 30, 400, 14.4]);
    expect(code).toBe(0);
  });

  it('places from a table, in any order, give another plan than the same places from flags', async () => {
    const words = ['--target', '400', '--days', '8'];
    expect((await runCalc(['light', '--csv', ...words], table)).out).toBe(
      (await runCalc(['light', ...pairs, ...words])).out,
    );
  });

  it('hours, ramps, ratio and attenuation are left out of the plan', async () => {
    const words = ['light', ...pairs, '--target', '400', '--days', '8', ...steep];
    // 8 h and two ramps of 2 h are ten hours; 5 h halves the daily light.
    expect((await runCalc([...words, '--hours', '8', '--ramp_hours', '2'])).out).toBe((await runCalc(words)).out);
    expect(rowsOf((await runCalc([...words, '--hours', '5'])).out)[7]).toEqual([8, 30, 400, 7.2]);
    const byRatio = rowsOf((await runCalc([...words, '--ratio'])).out);
    expect(byRatio.map(([, height]) => height)).toEqual([0, 4, 9, 13, 17, 21, 26, 30]);
    const one = await runCalc([
      'light',
      '--pair',
      '40=300',
      '--attenuation',
      '3',
      '--target',
      '300',
      '--days',
      '4',
      ...steep,
    ]);
    expect(rowsOf(one.out)[0]![2]).toBeCloseTo(300 * Math.exp(-1.2), 6);
    expect(rowsOf(one.out)[3]!.slice(0, 3)).toEqual([4, 40, 300]);
  });

  it('cautions land in the CSV instead of beside it', async () => {
    const { out, complaints } = await runCalc([
      'light',
      ...pairs,
      '--target',
      '400',
      '--days',
      '8',
      ...steep,
      '--json',
    ]);
    expect(JSON.parse(out)).toHaveLength(8);
    expect(complaints).toContain('about 21 days');
  });

  it.each([
    [
      'PAR that rises with depth',
      ['--pair', '0=400', '--pair', '30=50', '--target', '400', '--days', '8'],
      '',
      1,
      /light falls with depth/,
    ],
    ['a target out of reach', [...pairs, '--target', '900', '--days', '8'], '', 1, /PAR of the target.*900/],
    ['no target', [...pairs, '--days', '8'], '', 1, /target: missing/],
    ['no days', [...pairs, '--target', '400', '--days', '0'], '', 1, /days of the plan is 0/],
    ['no places', ['--target', '400', '--days', '8'], '', 1, /places with a PAR is 0/],
    ['half a pair', ['--pair', '30', '--target', '400', '--days', '8'], '', 2, /need height_cm=par/],
    [
      'two places and an attenuation',
      [...pairs, '--attenuation', '3', '--target', '400', '--days', '8'],
      '',
      1,
      /need one/,
    ],
    ['a table without PAR', ['--csv', '--target', '400', '--days', '8'], 'height_cm,light\n0,50\n', 2, /need par/],
    [
      'a row that is no number',
      ['--csv', '--target', '400', '--days', '8'],
      'height_cm,par\n0,50\n9,x\n',
      1,
      /row 3: par: found "x"/,
    ],
  ] as [string, string[], string, number, RegExp][])('%s gets a plan', async (_, words, input, code, message) => {
    const refused = await runCalc(['light', ...words], input);
    expect(refused.complaints).toMatch(message);
    expect(refused).toMatchObject({ code, out: '' });
  });
});
