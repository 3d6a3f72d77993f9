import { describe, expect, it } from 'vitest';
import * as calcification from '#rules/seawater/calcification.ts';

describe('what corals take from the water', () => {
  // Ca + 2 HCO3 → CaCO3 + CO2 + H2O; Ca 40.078 and CaCO3 100.086 g/mol (IUPAC 2021); 1 meq/L = 2.80385 dKH
  // (fixtures/reference/unit-conversions.csv): 20.039 mg/L of calcium and 50.043 mg/L of carbonate for each meq/L.
  it('calcium, alkalinity and carbonate do not belong together', () => {
    expect(calcification.calciumUsed_mg_LFromAlkalinityUsed(1)).toBeCloseTo(20.039, 6);
    expect(calcification.alkalinityUsed_dKHFromCalciumUsed(20.039)).toBeCloseTo(2.80385, 5);
    expect(calcification.calciumCarbonateFormed_mg_LFromAlkalinityUsed(1)).toBeCloseTo(50.043, 3);
    expect(calcification.alkalinityUsed_dKHFromCalciumCarbonateFormed(50.043)).toBeCloseTo(2.80385, 4);
    expect(calcification.dicUsed_umol_LFromAlkalinityUsed(1)).toBe(500);
  });
});
