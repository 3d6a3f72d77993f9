import { within } from '../quantity/out-of-range.ts';
import { rootInBracket } from './bracketed-root.ts';
import { densityFromSalinityEos80 } from './density.ts';

/**
 * The two temperatures without which a specific gravity means nothing: density of the seawater at the first over density
 * of pure water at the second. At S = 35 the usual pairs differ by 0.0005, which is 0.6 in salinity.
 */
export type SpecificGravityPair = { seawater_C: number; pureWater_C: number };

/** The pairs found on scales and in displays. 60 °F is (60 - 32) 5/9 °C. */
export const specificGravityPairs = {
  '20/20': { seawater_C: 20, pureWater_C: 20 },
  '25/25': { seawater_C: 25, pureWater_C: 25 },
  '60F/60F': { seawater_C: 140 / 9, pureWater_C: 140 / 9 },
} as const satisfies Record<string, SpecificGravityPair>;

/**
 * Specific gravity of seawater at a stated pair of temperatures.
 *
 * @param practicalSalinity  no unit, from 0 to 42
 * @param pair  both ITS-90, from -2 to 40 °C
 * @returns density of the seawater over density of pure water, no unit
 * @throws OutOfRange  for an input outside these limits
 * @source definition (ratio of densities, EOS-80); checked against fixtures/reference/seawater-density.csv
 */
export function specificGravityFromSalinity(practicalSalinity: number, pair: SpecificGravityPair): number {
  return densityFromSalinityEos80(practicalSalinity, pair.seawater_C) / densityFromSalinityEos80(0, pair.pureWater_C);
}

/**
 * Specific gravity 25/25, the one that Brinekeep stores and shows.
 *
 * @param practicalSalinity  no unit, from 0 to 42
 * @returns specific gravity 25/25, no unit; 1.02637 at 35
 * @throws OutOfRange  for a salinity outside these limits
 * @source specificGravityFromSalinity
 */
export function specificGravity25FromSalinity(practicalSalinity: number): number {
  return specificGravityFromSalinity(practicalSalinity, specificGravityPairs['25/25']);
}

/**
 * Practical salinity from specific gravity at a stated pair: the inverse of specificGravityFromSalinity.
 *
 * @param specificGravity  no unit, from that of salinity 0 to that of 42 at this pair
 * @param pair  both ITS-90, from -2 to 40 °C
 * @returns practical salinity, no unit, from 0 to 42
 * @throws OutOfRange  for an input outside these limits
 * @source EOS-80 solved by halving a bracket
 */
export function salinityFromSpecificGravity(specificGravity: number, pair: SpecificGravityPair): number {
  within(
    `specific gravity ${pair.seawater_C}/${pair.pureWater_C} °C`,
    specificGravity,
    specificGravityFromSalinity(0, pair),
    specificGravityFromSalinity(42, pair),
  );
  return salinityFromDensityEos80(specificGravity * densityFromSalinityEos80(0, pair.pureWater_C), pair.seawater_C);
}

/**
 * Practical salinity from density: the inverse of densityFromSalinityEos80, which rises with salinity everywhere.
 *
 * @param density_kg_m3  from that of salinity 0 to that of 42 at this temperature
 * @param temperature_C  ITS-90, from -2 to 40 °C
 * @returns practical salinity, no unit, from 0 to 42
 * @throws OutOfRange  for an input outside these limits
 * @source EOS-80 solved by halving a bracket
 */
export function salinityFromDensityEos80(density_kg_m3: number, temperature_C: number): number {
  const fresh_kg_m3 = densityFromSalinityEos80(0, temperature_C);
  const saltiest_kg_m3 = densityFromSalinityEos80(42, temperature_C);
  // A density that came from a ratio misses the edge by its last digit; 1e-9 kg/m3 is a billionth of salinity.
  within('density, kg/m3', density_kg_m3, fresh_kg_m3 - 1e-9, saltiest_kg_m3 + 1e-9);
  if (density_kg_m3 <= fresh_kg_m3) return 0;
  if (density_kg_m3 >= saltiest_kg_m3) return 42;
  return rootInBracket(
    'practical salinity',
    (salinity) => densityFromSalinityEos80(salinity, temperature_C) - density_kg_m3,
    0,
    42,
  );
}
