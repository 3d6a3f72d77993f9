import { describe, expect, it } from 'vitest';
import { runCalc } from './run-calc.ts';

const flags = ['bath', '--bath_l', '8', '--tank_share', '0.6', '--bag_share', '0.4'];

describe('calc bath from flags', () => {
  // By hand: 8 × 0.6 = 4.8; 8 × 0.4 = 3.2; 2.5 × 8 = 20 mL; 0.75 × 8 = 6 mL.
  it('the keeper pours other volumes than 4.8 L, 3.2 L, 20 mL and 6 mL', async () => {
    const { out, code } = await runCalc([
      ...flags,
      '--reagent',
      'iodine=2.5:2-3',
      '--reagent',
      'oil dip=0.75',
      '--json',
    ]);
    const answer = JSON.parse(out) as Record<string, unknown>;
    expect(answer).toMatchObject({ tank_l: 4.8, fresh_l: 4.8, iodine_ml: 20, 'oil dip_ml': 6, soak_minutes: 10 });
    expect(answer['bag_l']).toBeCloseTo(3.2, 12);
    expect(answer['cautions']).toMatch(/gloves.*Never mix products/);
    expect(code).toBe(0);
  });

  it('a rinse bath is not in the fresh water to mix, or the soak of the label is lost', async () => {
    const { out } = await runCalc([...flags, '--rinse_l', '6', '--soak_minutes', '5']);
    expect(out).toContain('fresh_l 10.8\n');
    expect(out).toContain('soak_minutes 5\n');
  });

  it("a dose outside the label's range goes unremarked", async () => {
    const { out } = await runCalc([...flags, '--reagent', 'iodine=4:2-3']);
    expect(out).toContain("iodine: 4 mL/L is above the label's 2 to 3 mL/L");
  });

  it.each([
    [
      ['bath', '--bath_l', '8', '--tank_share', '0.6', '--bag_share', '0.3'],
      1,
      /share plus bag share is 0.9, allowed: 1/,
    ],
    [['bath', '--bath_l', '8', '--tank_share', '0.4', '--bag_share', '0.6'], 1, /at least half/],
    [['bath', '--bath_l', '-8', '--tank_share', '0.6', '--bag_share', '0.4'], 1, /bath, L is -8/],
    [[...flags, '--soak_minutes', '11'], 1, /soak, minutes is 11/],
    [['bath', '--bath_l', '8', '--tank_share', '0.6'], 1, /bag_share: missing/],
    [[...flags, '--reagent', 'iodine'], 2, /need name=ml_per_l/],
    [[...flags, '--reagent', 'iodine=2', '--reagent', 'iodine=3'], 2, /iodine is given twice/],
    [[...flags, '--reagent', 'iodine=two'], 1, /found "two", need a number/],
    [[...flags, '--csv', '--reagent', 'iodine=2'], 2, /a reagent is a column/],
  ])('%j is answered', async (words, code, message) => {
    const refused = await runCalc(words as string[]);
    expect(refused.complaints).toMatch(message as RegExp);
    expect(refused.code).toBe(code);
    expect(refused.out).toBe('');
  });
});

describe('calc bath --csv', () => {
  it('a bad row ends the table, takes a good one with it, or comes without its reason', async () => {
    const table = [
      'bath_l,tank_share,bag_share,iodine_ml_per_l,oil_ml_per_l,iodine_label_low_ml_per_l,iodine_label_high_ml_per_l',
      '8,0.6,0.4,2.5,,2,3',
      '-3,0.5,0.5,1,1,,',
      '10,0.5,0.5,,4,,',
      '10,0.5,0.5,1,,2,',
    ].join('\n');
    const { out, code } = await runCalc(['bath', '--csv'], table);
    const lines = out.trimEnd().split('\r\n');
    expect(lines[0]).toMatch(/_per_l,tank_l,bag_l,fresh_l,iodine_ml,oil_ml,soak_minutes,cautions,error$/);
    expect(lines[1]).toMatch(/^8,0.6,0.4,2.5,,2,3,4.8,3.2,4.8,20,,10,.*,$/);
    expect(lines[2]).toBe('-3,0.5,0.5,1,1,,,,,,,,,,"bath, L is -3, allowed: 0.1 to 1000"');
    expect(lines[3]).toMatch(/^10,0.5,0.5,,4,,,5,5,5,,40,10,.*,$/);
    expect(lines[4]).toContain('need both its lowest and its highest');
    expect(lines).toHaveLength(5);
    expect(code).toBe(1);
  });

  it('a table of good rows does not exit 0, or an empty one is taken for done', async () => {
    expect((await runCalc(['bath', '--csv'], 'bath_l,tank_share,bag_share\n8,0.5,0.5\n')).code).toBe(0);
    const empty = await runCalc(['bath', '--csv'], '');
    expect(empty).toMatchObject({ code: 2, out: '' });
    expect(empty.complaints).toContain('no header');
  });
});
