import { within } from '../quantity/out-of-range.ts';
import { kelvinFromCelsius } from './temperature-scale.ts';

/** Molar gas constant, J/(mol K), exact since 2019. @source CODATA 2018 */
export const gasConstant_J_mol_K = 8.31446261815324;
/** Faraday constant, C/mol, exact since 2019 (printed digits). @source CODATA 2018 */
export const faradayConstant_C_mol = 96485.33212331;

/**
 * Slope of an ideal pH electrode, ln(10) R T / F. The potential FALLS by this much as pH rises by one.
 *
 * @param temperature_C  of what the electrode stands in, -5 to 100 °C
 * @returns mV per pH, positive; 59.159 at 25 °C
 * @throws OutOfRange  for a temperature outside these limits
 * @source Nernst; CODATA 2018. Checked against fixtures/reference/ph-buffers.csv
 */
export function nernstSlope_mV_per_pH(temperature_C: number): number {
  const T = kelvinFromCelsius(within('temperature, °C', temperature_C, -5, 100));
  return (1000 * Math.LN10 * gasConstant_J_mol_K * T) / faradayConstant_C_mol;
}
