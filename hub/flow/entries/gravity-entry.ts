import { defined } from '#rules/plain-data/defined.ts';
import { salinityFromHydrometer, sodaLimeExpansion_per_C } from '#rules/seawater/hydrometer.ts';
import { salinityFromSpecificGravity, specificGravityPairs } from '#rules/seawater/specific-gravity.ts';
import type { TestEntry } from '../../model/entries/entry-schemas.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { Refused } from '../../model/refusals/refused.ts';

/** The unit of a salinity test that was read as a specific gravity. */
export const sgUnit = 'sg';

/**
 * Practical salinity of a test that was read as a specific gravity on the scale of the instrument. With the water's
 * temperature it is a glass hydrometer that floated in it; without, an instrument that corrects for the temperature.
 *
 * @throws Refused  for a number that no salt water has
 */
export function salinityOfGravity(entry: Pick<TestEntry, 'value' | 'sg_scale' | 'water_temperature_c'>): number {
  const pair = specificGravityPairs[entry.sg_scale ?? '25/25'];
  const { value, water_temperature_c: water_C } = entry;
  try {
    if (water_C === undefined) return salinityFromSpecificGravity(value, pair);
    return salinityFromHydrometer(value, water_C, { pair, expansion_per_C: sodaLimeExpansion_per_C });
  } catch {
    throw new Refused(
      'out_of_range',
      `specific gravity: found ${value}, which no salt water of salinity 0 to 42 has on this scale. Check the number, the scale and the water temperature.`,
    );
  }
}

/** What was given beside the number, for the record. */
export function gravityGiven({
  sg_scale,
  water_temperature_c,
}: TestEntry): Pick<BodyOf<'test'>, 'sg_scale' | 'water_temperature_c'> {
  return {
    sg_scale: sg_scale ?? '25/25',
    ...defined({ water_temperature_c }),
  };
}
