import { describe, expect, it } from 'vitest';
import {
  calciumPerAlkalinity_mg_L_per_dKH,
  meq_L_per_dKH,
  type RiseQuantity,
  riseFromDose,
} from '#rules/dosing/stoichiometry.ts';
import { type SubstanceId, substanceIds } from '#rules/dosing/substance.ts';
import { substanceNamed, substances } from '#rules/dosing/substances.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { referenceTable } from '../seawater/reference-table.ts';

// Table: mole counting with IUPAC 2021 weights, solubilities of the CRC Handbook (fixtures/reference/README.md).
const rows = referenceTable('dosing-stoichiometry', 14);
const weights = new Map(
  referenceTable('atomic-weights', 12).map((row) => [row.text('symbol'), row.number('value_used')]),
);

/** Sums a formula such as MgSO4·7H2O or Ca(OH)2 from the table of atomic weights. */
function molarMass(formula: string): number {
  return formula
    .split('·')
    .map((part) => {
      const [, count, groups] = /^(\d*)(.*)$/.exec(part)!;
      const flat = groups!.replaceAll(/\(([^)]*)\)(\d+)/g, (_, group: string, times: string) =>
        group.repeat(Number(times)),
      );
      const atoms = [...flat.matchAll(/([A-Z][a-z]?)(\d*)/g)];
      const mass = atoms.reduce((sum, [, symbol, times]) => sum + weights.get(symbol!)! * Number(times || 1), 0);
      return Number(count || 1) * mass;
    })
    .reduce((sum, mass) => sum + mass, 0);
}

const relative = (found: number, expected: number): number => Math.abs(found / expected - 1);

describe('what a dose adds', () => {
  it.each(rows)('lifts the water by what the reference says for row %#', (row) => {
    const substance = substanceNamed(row.text('formula'))!;
    expect(substanceNamed(row.text('salt'))).toBe(substance);
    expect(relative(substance.molarMass_g_mol, row.number('molar_mass_g_mol'))).toBeLessThan(1e-6);
    expect(substance.alkalinity_eq_mol).toBe(row.number('alkalinity_eq_per_mol'));
    expect(substance.dic_mol_mol).toBe(row.number('dic_mol_per_mol'));
    const rise = riseFromDose(substance, 1, 1);
    const perGram: [string, number][] = [
      ['alkalinity_meq_per_g', rise.alkalinity_meq_L],
      ['calcium_mg_per_g', rise.calcium_mg_L],
      ['magnesium_mg_per_g', rise.magnesium_mg_L],
      ['potassium_mg_per_g', rise.potassium_mg_L],
      ['iodide_mg_per_g', rise.iodide_ug_L / 1000],
      ['nitrate_mg_per_g', rise.nitrate_mg_L],
      ['phosphate_mg_per_g', rise.phosphate_mg_L],
    ];
    for (const [column, found] of perGram) {
      const expected = row.number(column);
      if (expected === 0) expect(found, column).toBe(0);
      else expect(relative(found, expected), column).toBeLessThan(1e-4);
    }
    const gramsPer100L: [string, RiseQuantity, number][] = [
      ['g_per_100L_for_1_dKH', 'alkalinity_dKH', 1],
      ['g_per_100L_for_10_mg_L_Ca', 'calcium_mg_L', 10],
      ['g_per_100L_for_10_mg_L_Mg', 'magnesium_mg_L', 10],
      ['g_per_100L_for_10_mg_L_K', 'potassium_mg_L', 10],
      ['g_per_100L_for_1_mg_L_NO3', 'nitrate_mg_L', 1],
      ['g_per_100L_for_0.1_mg_L_PO4', 'phosphate_mg_L', 0.1],
    ];
    for (const [column, quantity, amount] of gramsPer100L) {
      const perGram = riseFromDose(substance, 1, 100)[quantity];
      expect(perGram > 0, column).toBe(row.has(column));
      if (!row.has(column)) continue;
      expect(relative(amount / perGram, row.number(column)), column).toBeLessThan(1e-4);
    }
    if (row.has('dKH_rise_with_10_mg_L_Ca')) {
      expect(
        relative((10 * rise.alkalinity_dKH) / rise.calcium_mg_L, row.number('dKH_rise_with_10_mg_L_Ca')),
      ).toBeLessThan(1e-4);
    }
    if (row.has('solubility_25C_mass_percent_anhydrous')) {
      const expected = row.number('solubility_25C_mass_percent_anhydrous');
      expect(relative(substance.solubility25C_mass_percent, expected)).toBeLessThan(0.02);
    }
  });

  it.each(substanceIds)('weighs %s by its formula, with and without its water', (id) => {
    const { formula, molarMass_g_mol, anhydrousMolarMass_g_mol } = substances[id];
    expect(substances[id].id).toBe(id);
    expect(relative(molarMass_g_mol, molarMass(formula))).toBeLessThan(1e-9);
    expect(relative(anhydrousMolarMass_g_mol, molarMass(formula.split('·')[0]!))).toBeLessThan(1e-9);
  });

  // The addition must agree with the mole counting, or the pH after a dose would be worked out for another substance.
  it.each(substanceIds)('knows how %s acts on the carbonate system', (id) => {
    const { addition, alkalinity_eq_mol, dic_mol_mol } = substances[id];
    const carbon = { none: undefined, hydroxide: 0, carbonate: 0.5, bicarbonate: 1 };
    expect(Object.keys(carbon)).toContain(addition);
    const expected = carbon[addition];
    expect(alkalinity_eq_mol === 0 ? undefined : dic_mol_mol / alkalinity_eq_mol).toBe(expected);
  });

  // Worked by hand: 100 g NaHCO3 / 84.00577 g/mol = 1.190394 mol, each one equivalent; in 420 L 2.834272 meq/L;
  // / 0.3566525 meq/L per dKH = 7.94687 dKH.
  it('lifts 420 L by 7.947 dKH with 100 g of sodium bicarbonate', () => {
    const rise = riseFromDose(substances.sodium_bicarbonate, 100, 420);
    expect(rise.alkalinity_meq_L).toBeCloseTo(2.834272, 6);
    expect(rise.alkalinity_dKH).toBeCloseTo(7.94687, 4);
  });

  // 1 dKH = 10 mg/L CaO (definition); CaO 56.077: 20/56.077 = 0.3566525 meq/L; half of it × 40.078 = 7.14696 mg/L.
  it('takes 7.147 mg/L of calcium for each dKH that corals use', () => {
    expect(meq_L_per_dKH).toBeCloseTo(0.3566525, 7);
    expect(calciumPerAlkalinity_mg_L_per_dKH).toBeCloseTo(7.14696, 5);
  });

  it.each([
    ['Soda ash', 'sodium_carbonate'],
    ['sodium carbonate', 'sodium_carbonate'],
    ['calcium chloride dihydrate', 'calcium_chloride_dihydrate'],
    ['CaCl2.2H2O', 'calcium_chloride_dihydrate'],
    ['Epsom salt', 'magnesium_sulfate_heptahydrate'],
    ['CALCIUM-CHLORIDE', 'calcium_chloride'],
    ['calcium chloride (anhydrous)', 'calcium_chloride'],
    ['calciumchloride anhydrous', 'calcium_chloride'],
    ['calcium hydroxide', 'calcium_hydroxide'],
    ['slakedlime', 'calcium_hydroxide'],
    ['Na HCO3', 'sodium_bicarbonate'],
    ['sodium hydroxide', 'sodium_hydroxide'],
    ['magnesium sulfate heptahydrate', 'magnesium_sulfate_heptahydrate'],
  ])('takes "%s" from a dose file for what it is', (text, id) => {
    expect(substanceNamed(text)?.id).toBe(id);
  });

  it('does not guess a substance from a name it does not know', () => {
    expect(substanceNamed('reef salt')).toBeUndefined();
    expect(substanceNamed('')).toBeUndefined();
    expect(substanceNamed('calcium chloride dihydrate anhydrous')).toBeUndefined();
  });

  it('shows cautions with every substance, and eye protection with every caustic one', () => {
    for (const substance of Object.values(substances)) {
      expect(substance.cautions.join(' ')).toContain("maker's label");
      if (substance.addition === 'carbonate' || substance.addition === 'hydroxide') {
        expect(substance.cautions.join(' '), substance.id).toContain('eye protection');
      }
    }
  });

  // What each can do to a person or a tank: general chemistry (hazard statements of the Globally Harmonised System), from memory.
  it.each<[SubstanceId[], RegExp]>([
    [['sodium_hydroxide', 'calcium_oxide'], /cold water in small parts, never water onto the solid/],
    [['sodium_hydroxide'], /aluminium and acids/],
    [['calcium_oxide'], /Slaking is violent/],
    [['calcium_hydroxide'], /not the sediment; do not breathe the dust/],
    [['calcium_chloride', 'calcium_chloride_dihydrate'], /Heats as it dissolves.*eye protection/],
    [
      ['sodium_carbonate', 'sodium_carbonate_decahydrate', 'sodium_hydroxide', 'calcium_hydroxide', 'calcium_oxide'],
      /Raises pH at once/,
    ],
    [
      ['sodium_bicarbonate', 'sodium_carbonate', 'sodium_carbonate_decahydrate', 'sodium_hydroxide'],
      /Never mix calcium and carbonate/,
    ],
    [
      ['calcium_chloride', 'calcium_chloride_dihydrate', 'calcium_chloride_hexahydrate'],
      /Never mix calcium and carbonate/,
    ],
    [
      [
        'calcium_chloride',
        'calcium_chloride_dihydrate',
        'calcium_chloride_hexahydrate',
        'magnesium_chloride_hexahydrate',
      ],
      /road salt/,
    ],
    [['calcium_chloride_dihydrate', 'magnesium_chloride_hexahydrate'], /Draws water from the air/],
    [['sodium_carbonate_decahydrate'], /Loses water of crystallisation/],
    [['magnesium_sulfate_heptahydrate'], /Without scent or colour/],
    [['potassium_iodide', 'potassium_nitrate', 'potassium_dihydrogen_phosphate'], /trace amounts/],
    [['potassium_nitrate'], /Oxidiser: keep from fuel/],
    [
      ['sodium_bicarbonate', 'sodium_carbonate', 'magnesium_sulfate_heptahydrate', 'potassium_iodide'],
      /never as dry salt onto animals/,
    ],
  ])('hands out %j without its caution', (ids, caution) => {
    for (const id of ids) expect(substances[id].cautions.join(' '), id).toMatch(caution);
  });

  it('says what dissolves without where that is from', () => {
    for (const { id, solubilitySource } of Object.values(substances))
      expect(solubilitySource, id).toMatch(/CRC Handbook|slaked lime.*from memory|^1\.6 g\/L at 25 °C, from memory/);
  });

  it('works with a negative weight, or a tank without water', () => {
    expect(() => riseFromDose(substances.sodium_bicarbonate, -1, 100)).toThrow(OutOfRange);
    expect(() => riseFromDose(substances.sodium_bicarbonate, 1, 0)).toThrow(OutOfRange);
  });
});
