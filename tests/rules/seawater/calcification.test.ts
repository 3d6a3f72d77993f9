import { expect, test } from 'vitest';
import { calciumUsed_mg_LFromAlkalinityUsed } from '#rules/seawater/calcification.ts';

// Ca + 2 HCO3 → CaCO3 + CO2 + H2O; Ca 40.078 g/mol (IUPAC 2021): half of it for each meq/L.
test('the calcium that corals take does not belong to the alkalinity that they take', () => {
  expect(calciumUsed_mg_LFromAlkalinityUsed(1)).toBeCloseTo(20.039, 6);
});
