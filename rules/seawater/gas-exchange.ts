import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { rootInBracket } from './bracketed-root.ts';
import { fugacityOverPressureWeiss1974, solubilityK0Weiss1974 } from './carbon-dioxide-gas.ts';
import { type CarbonateWater, carbonateFromAlkalinityAndPh } from './carbonate-system.ts';
import { kelvinFromCelsius } from './temperature-scale.ts';

/**
 * Carbon dioxide between water and air. The flux into the water is taken as coefficient × (CO2 in balance with the air − CO2 in the
 * water), with the coefficient in 1/h: transfer velocity × surface ÷ volume of all surfaces and bubbles of a system together.
 * @source the form is that of Wanninkhof 2014, Limnol. Oceanogr. Methods 12:351; what it is in a tank has to be learned there
 */

/** Carbon dioxide of outdoor air, ppm of dry air. @source global mean of 2023, Lan, Tans & Thoning, NOAA Global Monitoring Laboratory (419.3, from memory) */
export const outdoorAir_ppm = 420;
/** Temperature for which a coefficient is stated, °C. Chosen here: that of a usual reef tank. */
export const coefficientAt_C = 25;

/**
 * Schmidt number of CO2 in seawater of salinity 35, no unit; 668 at 20 °C.
 *
 * @param temperature_C  -2 to 40 °C
 * @throws OutOfRange  outside
 * @source Wanninkhof 2014, Limnol. Oceanogr. Methods 12:351, table 1
 */
export function schmidtCo2Wanninkhof2014(temperature_C: number): number {
  const t = within('temperature, °C', temperature_C, -2, 40);
  return 2116.8 - 136.25 * t + 4.7353 * t ** 2 - 0.092307 * t ** 3 + 0.0007555 * t ** 4;
}

/**
 * A coefficient of `coefficientAt_C` at another temperature: it goes with the Schmidt number to the power of -1/2.
 *
 * @param temperature_C  -2 to 40 °C
 * @returns 1/h
 * @source Wanninkhof 2014, equation 3 (exponent -1/2 of a rough surface)
 */
export function coefficientAt(coefficient_per_h: number, temperature_C: number): number {
  return (
    coefficient_per_h * Math.sqrt(schmidtCo2Wanninkhof2014(coefficientAt_C) / schmidtCo2Wanninkhof2014(temperature_C))
  );
}

/**
 * Pressure of water vapour over seawater, atm.
 *
 * @param practicalSalinity  0 to 40
 * @param temperature_C  -1 to 40 °C
 * @throws OutOfRange  outside
 * @source Weiss & Price 1980, Marine Chemistry 8:347, equation 10
 */
export function waterVapourWeissPrice1980(practicalSalinity: number, temperature_C: number): number {
  within('practical salinity', practicalSalinity, 0, 45);
  const T = kelvinFromCelsius(within('temperature, °C', temperature_C, -1, 40));
  return Math.exp(24.4543 - 67.4509 * (100 / T) - 4.8489 * Math.log(T / 100) - 0.000544 * practicalSalinity);
}

/**
 * Partial pressure of CO2 over the water's surface, in air of one atmosphere that holds as much water vapour as it can there.
 *
 * @param co2_ppm  of dry air, 0 to 50 000
 * @returns µatm
 * @throws OutOfRange  outside
 */
export function pco2OfAir_uatm(co2_ppm: number, { salinity, temperature_C }: CarbonateWater): number {
  return within('CO2 of the air, ppm', co2_ppm, 0, 50_000) * (1 - waterVapourWeissPrice1980(salinity, temperature_C));
}

/**
 * CO2 in water that is in balance with air, µmol/kg.
 *
 * @param co2_ppm  of dry air, 0 to 50 000
 * @throws OutOfRange  outside, or for a water outside the limits of the solubility
 * @source Weiss 1974; Weiss & Price 1980
 */
export function co2InBalance_umol_kg(co2_ppm: number, water: CarbonateWater): number {
  const { salinity, temperature_C } = water;
  const fugacity = pco2OfAir_uatm(co2_ppm, water) * fugacityOverPressureWeiss1974(temperature_C);
  return fugacity * solubilityK0Weiss1974(salinity, temperature_C);
}

/**
 * pH (total scale) of water at an alkalinity and a partial pressure of CO2.
 *
 * @param pco2_uatm  10 to 50 000 µatm
 * @throws OutOfRange  outside, or where the pH would lie outside 6 to 9.5
 * @source Dickson, Sabine & Christian 2007, chapter 2; the inverse of `carbonateFromAlkalinityAndPh`
 */
export function phFromAlkalinityAndPco2(
  water: CarbonateWater & { totalAlkalinity_umol_kg: number },
  pco2_uatm: number,
): number {
  const wanted = within('pCO2, µatm', pco2_uatm, 10, 50_000);
  return rootInBracket(
    'pH (total scale, 6 to 9.5) of this alkalinity and pCO2',
    (phTotal) => wanted - pco2Or0(water, phTotal),
    6,
    9.5,
  );
}

/** Above the pH at which borate and hydroxide take all of the alkalinity there is no CO2 left. */
function pco2Or0(water: CarbonateWater & { totalAlkalinity_umol_kg: number }, phTotal: number): number {
  try {
    return carbonateFromAlkalinityAndPh({ ...water, phTotal }).pco2_uatm;
  } catch (error) {
    if (error instanceof OutOfRange) return 0;
    throw error;
  }
}
