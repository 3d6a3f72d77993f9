import { within } from '../quantity/out-of-range.ts';
import { densityFromSalinityEos80 } from './density.ts';
import { type SpecificGravityPair, salinityFromDensityEos80 } from './specific-gravity.ts';

/**
 * Cubic thermal expansion of the glass of hydrometers, 1/°C: soda-lime glass. @source ISO 649-1 (from memory)
 */
export const sodaLimeExpansion_per_C = 25e-6;

/** What a floating hydrometer needs known beside its reading. */
export type Hydrometer = {
  /** The pair of temperatures on its scale; it reads rightly in seawater of the first. */
  pair: SpecificGravityPair;
  /** Cubic expansion of its body, 0 to 5e-4 per °C; glass 2.5e-5, plastics some ten times more. */
  expansion_per_C: number;
};

/**
 * Density of the water in which a hydrometer floats. Its mass is that of the water it pushes aside, and away from the
 * scale's temperature its body is a little larger or smaller. Surface tension is left out.
 *
 * @param reading  on the scale, no unit, 0.9 to 1.1
 * @param waterTemperature_C  of the water, ITS-90, -2 to 40 °C
 * @returns density at that temperature, kg/m3
 * @throws OutOfRange  for an input outside these limits
 * @source Archimedes; glass expansion as in ISO 649-1
 */
export function densityFromHydrometer(reading: number, waterTemperature_C: number, hydrometer: Hydrometer): number {
  const { pair } = hydrometer;
  const expansion = within('cubic expansion, 1/°C', hydrometer.expansion_per_C, 0, 5e-4);
  const warmer_C = within('temperature, °C', waterTemperature_C, -2, 40) - within('scale, °C', pair.seawater_C, -2, 40);
  const onScale_kg_m3 = within('hydrometer reading', reading, 0.9, 1.1) * densityFromSalinityEos80(0, pair.pureWater_C);
  return onScale_kg_m3 / (1 + expansion * warmer_C);
}

/**
 * Practical salinity from a hydrometer's reading in water of any temperature.
 *
 * @param reading  on the scale, no unit
 * @param waterTemperature_C  of the water, ITS-90, -2 to 40 °C
 * @returns practical salinity, no unit, 0 to 42
 * @throws OutOfRange  for an input outside these limits or a salinity outside 0 to 42
 * @source densityFromHydrometer, then EOS-80
 */
export function salinityFromHydrometer(reading: number, waterTemperature_C: number, hydrometer: Hydrometer): number {
  return salinityFromDensityEos80(densityFromHydrometer(reading, waterTemperature_C, hydrometer), waterTemperature_C);
}
