import { describe, expect, test } from 'vitest';
import { ionsOverMonths } from '#rules/dosing/ions-over-months.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { referenceTable } from '../seawater/reference-table.ts';

const sea = new Map(
  referenceTable('seawater-reference-composition', 15).map((row) => [
    row.text('solute'),
    row.number('grams_per_kg_at_reference_salinity_35.16504'),
  ]),
);
/** Molar masses as bottles and handbooks print them: NaHCO3 84.007, CaCl2·2H2O 147.01, NaCl 58.44, MgCl2·6H2O 203.30, MgSO4·7H2O 246.47. */
const litre = { volumeL: 1, salinity: 35, changedPerDay: 0 };
/** 1 dKH is 0.3566525 meq/L (fixtures/reference/README.md); it goes with half as many mmol of calcium. */
const dkh_meq_L = 0.3566525;
const balanced = {
  sodium_bicarbonate: (dkh_meq_L * 84.007) / 1000,
  calcium_chloride_dihydrate: ((dkh_meq_L / 2) * 147.01) / 1000,
};

describe('what dosing leaves over months', () => {
  test('calcium chloride and bicarbonate leave something else than common salt, or another amount', () => {
    const { ions, saltPerDay_mg_L } = ionsOverMonths({ ...litre, gramsPerDay: balanced });
    // NaHCO3 + ½ CaCl2 → ½ CaCO3 + NaCl + …: 20.84 mg of salt in a litre for each dKH.
    expect(saltPerDay_mg_L).toBeCloseTo(dkh_meq_L * 58.44, 2);
    const rise = new Map(ions.map(({ ion, risePerDay_mg_L }) => [ion, risePerDay_mg_L]));
    expect(rise.get('Na')).toBeCloseTo(dkh_meq_L * 22.99, 2);
    expect(rise.get('Cl')).toBeCloseTo(dkh_meq_L * 35.45, 2);
    expect([rise.get('SO4'), rise.get('Mg'), rise.get('K')]).toEqual([0, 0, 0]);
  });

  test('magnesium salts or lime leave another thing than their formula says', () => {
    const of = (gramsPerDay: object) =>
      new Map(ionsOverMonths({ ...litre, gramsPerDay }).ions.map(({ ion, risePerDay_mg_L }) => [ion, risePerDay_mg_L]));
    const chloride = of({ magnesium_chloride_hexahydrate: 0.2033 });
    expect([chloride.get('Mg'), chloride.get('Cl')]).toEqual([expect.closeTo(24.305, 2), expect.closeTo(70.9, 1)]);
    const sulfate = of({ magnesium_sulfate_heptahydrate: 0.24647 });
    expect([sulfate.get('Mg'), sulfate.get('SO4')]).toEqual([expect.closeTo(24.305, 2), expect.closeTo(96.06, 1)]);
    expect([...of({ calcium_hydroxide: 1 }).values()]).toEqual([0, 0, 0, 0, 0]);
  });

  test('the balance day by day ends elsewhere than the formula', () => {
    const changedPerDay = 0.003;
    const { ions, saltPerDay_mg_L } = ionsOverMonths({ ...litre, gramsPerDay: { ...balanced }, changedPerDay });
    const density = 1.02334;
    const diluted = saltPerDay_mg_L / (35_165.04 * density);
    for (const { ion, reference_mg_L, risePerDay_mg_L, atRest } of ions) {
      expect(reference_mg_L / (sea.get(ion)! * 1000 * density)).toBeCloseTo(1, 4);
      let level = reference_mg_L;
      for (let day = 0; day < 20_000; day += 1)
        level += risePerDay_mg_L - (changedPerDay + diluted) * level + changedPerDay * reference_mg_L;
      expect(level / reference_mg_L, ion).toBeCloseTo(atRest, 6);
    }
  });

  test('the day on which it matters, or the change that holds it, is off', () => {
    // 5 dKH a day by bicarbonate and calcium chloride: sulfate, magnesium and potassium are diluted as salt is taken out.
    const gramsPerDay = Object.fromEntries(Object.entries(balanced).map(([id, grams]) => [id, 5 * grams]));
    const { ions, saltPerDay_mg_L } = ionsOverMonths({ ...litre, gramsPerDay });
    const sulfate = ions.find(({ ion }) => ion === 'SO4')!;
    const diluted = saltPerDay_mg_L / (35_165.04 * 1.02334);
    // Down to 0.9 of the sea by dilution alone: ln 0.9 / -diluted.
    expect(sulfate.mattersAfterDays).toBeCloseTo(-Math.log(0.9) / diluted, 1);
    const held = ionsOverMonths({ ...litre, gramsPerDay, changedPerDay: sulfate.changeToHold });
    expect(held.ions.find(({ ion }) => ion === 'SO4')!.atRest).toBeCloseTo(0.9, 9);
    // changed / (changed + diluted) = 0.9.
    expect(sulfate.changeToHold).toBeCloseTo(9 * diluted, 6);
    expect(held.ions.find(({ ion }) => ion === 'SO4')!.changeToHold).toBeCloseTo(0, 9);
  });

  test('a tank that nobody doses changes', () => {
    const { ions, saltPerDay_mg_L } = ionsOverMonths({ ...litre, gramsPerDay: {} });
    expect(saltPerDay_mg_L).toBe(0);
    expect(ions.every(({ atRest, mattersAfterDays }) => atRest === 1 && mattersAfterDays === undefined)).toBe(true);
    const used = ionsOverMonths({ ...litre, gramsPerDay: {}, usedPerDay: { K: 1 } });
    expect(used.ions.find(({ ion }) => ion === 'K')!.mattersAfterDays).toBeLessThan(60);
    expect(() => ionsOverMonths({ ...litre, changedPerDay: 2, gramsPerDay: {} })).toThrow(OutOfRange);
  });
});
