import { kelvinWithin } from './carbonate-constants.ts';

/** Coefficients of Mucci 1983 that differ between the two minerals. */
type Mineral = {
  constant: number;
  perT: number;
  rootS: readonly [constant: number, timesT: number, perT: number];
  s: number;
  sThreeHalves: number;
};

/** @source Mucci 1983, Am. J. Sci. 283:780, table 6 */
const aragonite: Mineral = {
  constant: -171.945,
  perT: 2903.293,
  rootS: [-0.068393, 0.0017276, 88.135],
  s: -0.10018,
  sThreeHalves: 0.0059415,
};

/** @source Mucci 1983, Am. J. Sci. 283:780, table 6 */
const calcite: Mineral = {
  constant: -171.9065,
  perT: 2839.319,
  rootS: [-0.77712, 0.0028426, 178.34],
  s: -0.07711,
  sThreeHalves: 0.0041249,
};

/**
 * Solubility product of aragonite, [Ca][CO3] at equilibrium, mol²/kg². What corals lay down.
 *
 * @param practicalSalinity  no unit, from 5 to 44
 * @param temperature_C  from 5 to 40 °C
 * @throws OutOfRange  for an input outside these limits
 * @source Mucci 1983, American Journal of Science 283:780
 */
export function aragoniteKspMucci1983(practicalSalinity: number, temperature_C: number): number {
  return ksp(aragonite, practicalSalinity, temperature_C);
}

/**
 * Solubility product of calcite, mol²/kg². Limits, errors and source as aragoniteKspMucci1983.
 */
export function calciteKspMucci1983(practicalSalinity: number, temperature_C: number): number {
  return ksp(calcite, practicalSalinity, temperature_C);
}

function ksp(mineral: Mineral, practicalSalinity: number, temperature_C: number): number {
  const T = kelvinWithin(practicalSalinity, temperature_C, [5, 44], [5, 40]);
  const S = practicalSalinity;
  const [constant, timesT, perT] = mineral.rootS;
  return (
    10 **
    (mineral.constant -
      0.077993 * T +
      mineral.perT / T +
      71.595 * Math.log10(T) +
      (constant + timesT * T + perT / T) * Math.sqrt(S) +
      mineral.s * S +
      mineral.sThreeHalves * S * Math.sqrt(S))
  );
}
