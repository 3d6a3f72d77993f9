import { within } from '../quantity/out-of-range.ts';
import { interpolate, type Table } from '../quantity/table-interpolation.ts';

/**
 * Grams of calcium hydroxide that dissolve in 100 g of water, by °C.
 *
 * @source as handbooks of chemistry print it: fixtures/reference/calcium-hydroxide-solubility.csv
 */
const solubility_g_100g: Table = [
  [0, 0.185],
  [10, 0.176],
  [20, 0.165],
  [30, 0.153],
  [40, 0.141],
];

/**
 * Calcium hydroxide in a litre of clear, saturated lime water: the warmer, the less. A litre of it weighs a kilogram within half a
 * per cent. Lime water that stood open is weaker: the air makes chalk of it.
 *
 * @param temperature_C  of the lime water, 0 to 40 °C
 * @returns g/L; 1.59 at 25 °C
 * @throws OutOfRange  outside these limits
 */
export function saturatedLime_g_L(temperature_C: number): number {
  return 10 * interpolate('temperature of the lime water, °C', solubility_g_100g, temperature_C);
}

/**
 * What people must know before they handle lime; the maker's label goes before it.
 *
 * @source common practice, no published source
 */
export const limeWaterCautions: readonly string[] = [
  'Lime is caustic: gloves and eye protection, no dust in the air, keep it from children and pets. The maker’s label goes first.',
  'Top off with the clear lime water alone, slowly and into strong flow; a top-off that sticks open gives a day’s lime in an hour.',
  'Keep the container closed: the air makes chalk of it.',
];

/**
 * Litres of lime water that evaporation makes room for, with the water that other stocks bring taken off.
 *
 * @param evaporation_L_day  0 to 100,000
 * @param other_L_day  fresh water that comes with other doses, 0 to 100,000
 * @returns L a day, 0 or more
 * @throws OutOfRange  outside these limits
 */
export function limeWaterRoom_L_day(evaporation_L_day: number, other_L_day: number): number {
  return Math.max(
    0,
    within('evaporation, L a day', evaporation_L_day, 0, 1e5) - within('other water, L a day', other_L_day, 0, 1e5),
  );
}
