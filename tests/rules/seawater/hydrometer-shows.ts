import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import type { Hydrometer } from '#rules/seawater/hydrometer.ts';

/** What a hydrometer shows in water of a salinity and temperature, by Archimedes: the water it pushes aside weighs as it does. */
export function hydrometerFromSalinity(
  salinity: number,
  water_C: number,
  { pair, expansion_per_C }: Hydrometer,
): number {
  const ofScale_kg_m3 = densityFromSalinityEos80(0, pair.pureWater_C);
  const volumeGrown = 1 + expansion_per_C * (water_C - pair.seawater_C);
  return (densityFromSalinityEos80(salinity, water_C) * volumeGrown) / ofScale_kg_m3;
}
