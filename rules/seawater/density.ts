import { within } from '../quantity/out-of-range.ts';
import { ipts68FromIts90 } from './temperature-scale.ts';

/** EOS-80 pure water (Bigg 1967 as used by Millero & Poisson 1981), kg/m3 over °C^0..5 of t68. */
const pureWater = [999.842594, 6.793952e-2, -9.09529e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9] as const;
/** EOS-80 factor of S, over °C^0..4 of t68. */
const linear = [8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9] as const;
/** EOS-80 factor of S^1.5, over °C^0..2 of t68. */
const threeHalves = [-5.72466e-3, 1.0227e-4, -1.6546e-6] as const;
/** EOS-80 factor of S squared, kg/m3. */
const square = 4.8314e-4;

/**
 * Density of seawater at one standard atmosphere by the international equation of state of 1980.
 *
 * @param practicalSalinity  no unit, from 0 (pure water) to 42
 * @param temperature_C  ITS-90 (turned into IPTS-68 inside), from -2 to 40 °C
 * @returns density, kg/m3
 * @throws OutOfRange  for an input outside these limits
 * @source Millero & Poisson 1981, Deep-Sea Research 28A:625; UNESCO 44 (1983) p. 15-19 (limits from memory). Checked
 *   against fixtures/reference/seawater-density.csv
 */
export function densityFromSalinityEos80(practicalSalinity: number, temperature_C: number): number {
  const s = within('practical salinity', practicalSalinity, 0, 42);
  const t = ipts68FromIts90(within('temperature, °C', temperature_C, -2, 40));
  const ofSalinity = polynomial(linear, t) + polynomial(threeHalves, t) * Math.sqrt(s) + square * s;
  return polynomial(pureWater, t) + s * ofSalinity;
}

/** The sum of coefficient times t^place, by Horner's rule. */
function polynomial(coefficients: readonly number[], t: number): number {
  return coefficients.reduceRight((sum, coefficient) => sum * t + coefficient, 0);
}
