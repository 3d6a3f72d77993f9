import { within } from '../quantity/out-of-range.ts';
import { kelvinWithin } from './carbonate-constants.ts';
import { kelvinFromCelsius } from './temperature-scale.ts';

/** Gas constant of the virial formula, mL bar/(mol K), CODATA 2018. */
const gasConstant_mL_bar_mol_K = 83.14462618;
/** One standard atmosphere, bar. */
const atmosphere_bar = 1.01325;

/**
 * Solubility of carbon dioxide in seawater, K0 = [CO2*]/fCO2, mol/(kg atm).
 *
 * @param practicalSalinity  no unit, from 0 to 45
 * @param temperature_C  from -1 to 45 °C
 * @throws OutOfRange  for an input outside these limits (limits from memory)
 * @source Weiss 1974, Marine Chemistry 2:203
 */
export function solubilityK0Weiss1974(practicalSalinity: number, temperature_C: number): number {
  const hundredK = kelvinWithin(practicalSalinity, temperature_C, [0, 45], [-1, 45]) / 100;
  return Math.exp(
    93.4517 / hundredK -
      60.2409 +
      23.3585 * Math.log(hundredK) +
      practicalSalinity * (0.023517 - 0.023656 * hundredK + 0.0047036 * hundredK * hundredK),
  );
}

/**
 * Fugacity over partial pressure of carbon dioxide in air at one atmosphere, no unit; 0.9968 at 25 °C.
 *
 * @param temperature_C  from -8 to 45 °C (limits from memory)
 * @throws OutOfRange  for a temperature outside these limits
 * @source Weiss 1974, Marine Chemistry 2:203, virial coefficients
 */
export function fugacityOverPressureWeiss1974(temperature_C: number): number {
  const T = kelvinFromCelsius(within('temperature, °C', temperature_C, -8, 45));
  const virial_mL_mol = -1636.75 + 12.0408 * T - 0.0327957 * T ** 2 + 3.16528e-5 * T ** 3;
  const crossVirial_mL_mol = 57.7 - 0.118 * T;
  return Math.exp(((virial_mL_mol + 2 * crossVirial_mL_mol) * atmosphere_bar) / (gasConstant_mL_bar_mol_K * T));
}
