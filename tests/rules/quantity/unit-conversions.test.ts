import { describe, expect, it } from 'vitest';
import { dkhFromMeqPerL, meqPerLFromDkh } from '#rules/quantity/alkalinity-unit.ts';
import { umolPerKgFromMmolPerL } from '#rules/quantity/amount.ts';
import { atomicWeight_g_mol, calciumCarbonate_g_mol, calciumOxide_g_mol } from '#rules/quantity/atomic-weights.ts';
import { fromStoreUnit, toStoreUnit } from '#rules/quantity/unit.ts';
import { calciumUsed_mg_LFromAlkalinityUsed } from '#rules/seawater/calcification.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { type ReferenceRow, referenceTable } from '../seawater/reference-table.ts';
import { WorstDifference } from '../seawater/worst-difference.ts';

/** Density of the row's water by our own formula, which is what a keeper's conversion uses. */
function density_kg_L(row: ReferenceRow): number {
  return densityFromSalinityEos80(row.number('salinity'), row.number('temperature_C')) / 1000;
}

/** mmol/L from µmol/kg: the other way round of the formula under test. */
function mmol_LFrom(umol_kg: number, row: ReferenceRow): number {
  return umol_kg / umolPerKgFromMmolPerL(1, density_kg_L(row));
}

const calcium_dKH = calciumUsed_mg_LFromAlkalinityUsed(meqPerLFromDkh(1));

/** Every conversion of the table that something here computes, by its quantity and the two units. */
const ours: Record<string, (value: number, row: ReferenceRow) => number> = {
  'constant dKH meq_L': meqPerLFromDkh,
  'constant meq_L dKH': dkhFromMeqPerL,
  'constant dKH mg_L_as_CaCO3': (value) => fromStoreUnit('alkalinity', value, 'mg/L CaCO3'),
  'constant meq_L mg_L_as_CaCO3': (value) => fromStoreUnit('alkalinity', dkhFromMeqPerL(value), 'mg/L CaCO3'),
  'alkalinity dKH meq_L': (value) => fromStoreUnit('alkalinity', value, 'meq/L'),
  'alkalinity dKH mg_L_as_CaCO3': (value) => fromStoreUnit('alkalinity', value, 'mg/L CaCO3'),
  'alkalinity meq_L dKH': (value) => toStoreUnit('alkalinity', value, 'meq/L'),
  'alkalinity mg_L_as_CaCO3 dKH': (value) => toStoreUnit('alkalinity', value, 'mg/L CaCO3'),
  'alkalinity mg_L_as_CaCO3 meq_L': (value) => meqPerLFromDkh(toStoreUnit('alkalinity', value, 'mg/L CaCO3')),
  'alkalinity dKH umol_kg': (value, row) => umolPerKgFromMmolPerL(meqPerLFromDkh(value), density_kg_L(row)),
  'alkalinity umol_kg dKH': (value, row) => dkhFromMeqPerL(mmol_LFrom(value, row)),
  'alkalinity meq_L umol_kg': (value, row) => umolPerKgFromMmolPerL(value, density_kg_L(row)),
  'alkalinity umol_kg meq_L': mmol_LFrom,
  'calcium mg_L mmol_L': (value) => fromStoreUnit('calcium', value, 'mmol/L'),
  'calcium mmol_L mg_L': (value) => toStoreUnit('calcium', value, 'mmol/L'),
  'calcium mg_L umol_kg': (value, row) =>
    umolPerKgFromMmolPerL(fromStoreUnit('calcium', value, 'mmol/L'), density_kg_L(row)),
  'calcium umol_kg mg_L': (value, row) => toStoreUnit('calcium', mmol_LFrom(value, row), 'mmol/L'),
  'magnesium mg_L mmol_L': (value) => fromStoreUnit('magnesium', value, 'mmol/L'),
  'magnesium mmol_L mg_L': (value) => toStoreUnit('magnesium', value, 'mmol/L'),
  'magnesium mg_L umol_kg': (value, row) =>
    umolPerKgFromMmolPerL(fromStoreUnit('magnesium', value, 'mmol/L'), density_kg_L(row)),
  'calcium_hardness mg_L_Ca mg_L_as_CaCO3': (value) => fromStoreUnit('calcium', value, 'mg/L CaCO3'),
  'magnesium_hardness mg_L_Mg mg_L_as_CaCO3': (value) => fromStoreUnit('magnesium', value, 'mg/L CaCO3'),
  'calcification dKH_consumed mg_L_Ca_consumed': (value) => calciumUsed_mg_LFromAlkalinityUsed(meqPerLFromDkh(value)),
  'calcification meq_L_consumed mg_L_Ca_consumed': calciumUsed_mg_LFromAlkalinityUsed,
  'calcification mg_L_Ca_consumed dKH_consumed': (value) => value / calcium_dKH,
};

/** Rows of what nothing here computes: the trade's rounded 2.8, and the solid and the DIC of calcification. */
const notComputed = [
  'constant meq_L dKH_trade_rounded',
  'constant dKH meq_L_trade_rounded',
  'calcification dKH_consumed mg_L_CaCO3_precipitated',
  'calcification dKH_consumed umol_L_DIC_consumed',
  'calcification g_CaCO3_deposited_in_100_L dKH_consumed_in_100_L',
];

describe('units of the trade', () => {
  // Table: IUPAC 2021 atomic weights, density of Millero & Poisson 1981 (fixtures/reference/README.md).
  it('convert as the reference table does in all of its 221 rows but 5, so a dose is not 0.3 % off twice', () => {
    const worst = new WorstDifference('unit conversion', 1e-5, true);
    const seen = new Set<string>();
    for (const row of referenceTable('unit-conversions', 221)) {
      const name = `${row.text('quantity')} ${row.text('from_unit')} ${row.text('to_unit')}`;
      if (notComputed.includes(name)) continue;
      const convert = ours[name];
      if (convert === undefined) throw new Error(`no function for ${name}`);
      seen.add(name);
      worst.add(convert(row.number('from_value'), row), row.number('to_value'), `${name} line ${row.line}`);
    }
    expect([...seen].sort()).toEqual(Object.keys(ours).sort());
    worst.check();
  });

  // Table: IUPAC CIAAW 2021.
  it('stand on the atomic weights of IUPAC 2021', () => {
    const rows = referenceTable('atomic-weights', 12);
    const table = Object.fromEntries(rows.map((row) => [row.text('symbol'), row.number('value_used')]));
    expect(atomicWeight_g_mol).toEqual(table);
    expect(calciumCarbonate_g_mol).toBeCloseTo(100.086, 10);
    expect(calciumOxide_g_mol).toBeCloseTo(56.077, 10);
  });
});
