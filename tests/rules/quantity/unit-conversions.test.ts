import { describe, expect, it } from 'vitest';
import {
  dkhFromMeqPerL,
  dkhFromMeqPerLTradeRounded,
  dkhFromMgPerLCaCO3,
  meqPerLFromDkh,
  meqPerLFromDkhTradeRounded,
  meqPerLFromMgPerLCaCO3,
  mgPerLCaCO3FromDkh,
  mgPerLCaCO3FromMeqPerL,
} from '#rules/quantity/alkalinity-unit.ts';
import {
  mgPerLCaCO3FromMetal,
  mgPerLFromMmolPerL,
  mmolPerLFromMgPerL,
  mmolPerLFromUmolPerKg,
  umolPerKgFromMmolPerL,
} from '#rules/quantity/amount.ts';
import { atomicWeight_g_mol, calciumCarbonate_g_mol, calciumOxide_g_mol } from '#rules/quantity/atomic-weights.ts';
import {
  alkalinityUsed_dKHFromCalciumCarbonateFormed,
  alkalinityUsed_dKHFromCalciumUsed,
  calciumCarbonateFormed_mg_LFromAlkalinityUsed,
  calciumUsed_mg_LFromAlkalinityUsed,
  dicUsed_umol_LFromAlkalinityUsed,
} from '#rules/seawater/calcification.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { type ReferenceRow, referenceTable } from '../seawater/reference-table.ts';
import { WorstDifference } from '../seawater/worst-difference.ts';

const { Ca, Mg } = atomicWeight_g_mol;

/** Density of the row's water by our own formula, which is what a keeper's conversion uses. */
function density_kg_L(row: ReferenceRow): number {
  return densityFromSalinityEos80(row.number('salinity'), row.number('temperature_C')) / 1000;
}

/** Every conversion of the table by its quantity and the two units. */
const ours: Record<string, (value: number, row: ReferenceRow) => number> = {
  'constant dKH meq_L': meqPerLFromDkh,
  'constant meq_L dKH': dkhFromMeqPerL,
  'constant dKH mg_L_as_CaCO3': mgPerLCaCO3FromDkh,
  'constant meq_L mg_L_as_CaCO3': mgPerLCaCO3FromMeqPerL,
  'constant meq_L dKH_trade_rounded': dkhFromMeqPerLTradeRounded,
  'constant dKH meq_L_trade_rounded': meqPerLFromDkhTradeRounded,
  'alkalinity dKH meq_L': meqPerLFromDkh,
  'alkalinity dKH mg_L_as_CaCO3': mgPerLCaCO3FromDkh,
  'alkalinity meq_L dKH': dkhFromMeqPerL,
  'alkalinity mg_L_as_CaCO3 dKH': dkhFromMgPerLCaCO3,
  'alkalinity mg_L_as_CaCO3 meq_L': meqPerLFromMgPerLCaCO3,
  'alkalinity dKH umol_kg': (value, row) => umolPerKgFromMmolPerL(meqPerLFromDkh(value), density_kg_L(row)),
  'alkalinity umol_kg dKH': (value, row) => dkhFromMeqPerL(mmolPerLFromUmolPerKg(value, density_kg_L(row))),
  'alkalinity meq_L umol_kg': (value, row) => umolPerKgFromMmolPerL(value, density_kg_L(row)),
  'alkalinity umol_kg meq_L': (value, row) => mmolPerLFromUmolPerKg(value, density_kg_L(row)),
  'calcium mg_L mmol_L': (value) => mmolPerLFromMgPerL(value, Ca),
  'calcium mmol_L mg_L': (value) => mgPerLFromMmolPerL(value, Ca),
  'calcium mg_L umol_kg': (value, row) => umolPerKgFromMmolPerL(mmolPerLFromMgPerL(value, Ca), density_kg_L(row)),
  'calcium umol_kg mg_L': (value, row) => mgPerLFromMmolPerL(mmolPerLFromUmolPerKg(value, density_kg_L(row)), Ca),
  'magnesium mg_L mmol_L': (value) => mmolPerLFromMgPerL(value, Mg),
  'magnesium mmol_L mg_L': (value) => mgPerLFromMmolPerL(value, Mg),
  'magnesium mg_L umol_kg': (value, row) => umolPerKgFromMmolPerL(mmolPerLFromMgPerL(value, Mg), density_kg_L(row)),
  'calcium_hardness mg_L_Ca mg_L_as_CaCO3': (value) => mgPerLCaCO3FromMetal(value, 'Ca'),
  'magnesium_hardness mg_L_Mg mg_L_as_CaCO3': (value) => mgPerLCaCO3FromMetal(value, 'Mg'),
  'calcification dKH_consumed mg_L_Ca_consumed': (value) => calciumUsed_mg_LFromAlkalinityUsed(meqPerLFromDkh(value)),
  'calcification meq_L_consumed mg_L_Ca_consumed': calciumUsed_mg_LFromAlkalinityUsed,
  'calcification mg_L_Ca_consumed dKH_consumed': alkalinityUsed_dKHFromCalciumUsed,
  'calcification dKH_consumed mg_L_CaCO3_precipitated': (value) =>
    calciumCarbonateFormed_mg_LFromAlkalinityUsed(meqPerLFromDkh(value)),
  'calcification dKH_consumed umol_L_DIC_consumed': (value) => dicUsed_umol_LFromAlkalinityUsed(meqPerLFromDkh(value)),
  // Grams in 100 L are tens of milligrams in a litre.
  'calcification g_CaCO3_deposited_in_100_L dKH_consumed_in_100_L': (value) =>
    alkalinityUsed_dKHFromCalciumCarbonateFormed(value * 10),
};

describe('units of the trade', () => {
  // Table: IUPAC 2021 atomic weights, density of Millero & Poisson 1981 (fixtures/reference/README.md).
  it('convert as the reference table does in all of its 221 rows, so a dose is not 0.3 % off twice', () => {
    const worst = new WorstDifference('unit conversion', 1e-5, true);
    const seen = new Set<string>();
    for (const row of referenceTable('unit-conversions', 221)) {
      const name = `${row.text('quantity')} ${row.text('from_unit')} ${row.text('to_unit')}`;
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
