import { within } from '../quantity/out-of-range.ts';

/** The salinity to which values of different days are brought before they are compared. */
export const commonSalinity = 35;

/**
 * What a value would be had the water neither been diluted nor concentrated: an ion that keeps its proportion to the salt.
 *
 * Exact for an amount in a kilogram. In a litre the density adds 0.08 % for each unit of salinity, less than any kit can show.
 *
 * @param value     of an ion or of alkalinity, any unit of amount in a litre or kilogram, at `salinity`
 * @param salinity  practical salinity of the water then, 5 to 50
 * @param target    practical salinity to compare at, 5 to 50
 * @returns in the unit of `value`
 * @throws OutOfRange  outside these limits
 * @source salinity-normalised alkalinity nTA = TA × 35 / S: Millero, Lee & Roche 1998, Marine Chemistry 60, 111–130 (cited from memory);
 *   constant proportions of the major ions: fixtures/reference/seawater-reference-composition.csv
 */
export function atSalinity(value: number, salinity: number, target = commonSalinity): number {
  return (value * within('target salinity', target, 5, 50)) / within('salinity', salinity, 5, 50);
}
