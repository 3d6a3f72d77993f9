import { within } from '../quantity/out-of-range.ts';

/**
 * What seawater of a salinity holds of the ions that move with salinity alone, per kg of seawater. An aquarium made with a
 * salt mix may hold other amounts: calcium is measured, boron as a rule is not.
 */

/** Which published ratio of boron to salinity; they differ by 4 %, or by 0.5 % in DIC. */
export type BoronOption = 'uppstrom1974' | 'lee2010';

/** Salinity over chlorinity, g/kg: the definition of 1969 (Wooster, Lee & Dietrich 1969). */
const salinityPerChlorinity = 1.80655;

function checkedSalinity(practicalSalinity: number): number {
  return within('practical salinity', practicalSalinity, 0, 45);
}

/** Total boron, µmol/kg. @source Uppström 1974, Deep-Sea Research 21:161. Salinity 0 to 45, else throws OutOfRange. */
export function totalBoronUppstrom1974_umol_kg(practicalSalinity: number): number {
  return (415.7 * checkedSalinity(practicalSalinity)) / 35;
}

/** Total boron, µmol/kg. @source Lee et al. 2010, Geochim. Cosmochim. Acta 74:1801. Salinity 0 to 45, else OutOfRange. */
export function totalBoronLee2010_umol_kg(practicalSalinity: number): number {
  return (432.6 * checkedSalinity(practicalSalinity)) / 35;
}

/** Total boron by the option asked for, µmol/kg. Salinity 0 to 45, else throws OutOfRange. */
export function totalBoron_umol_kg(option: BoronOption, practicalSalinity: number): number {
  return option === 'lee2010'
    ? totalBoronLee2010_umol_kg(practicalSalinity)
    : totalBoronUppstrom1974_umol_kg(practicalSalinity);
}

/** Total sulfate, µmol/kg. @source Morris & Riley 1966, Deep-Sea Research 13:699. Salinity 0 to 45, else OutOfRange. */
export function totalSulfate_umol_kg(practicalSalinity: number): number {
  return (1e6 * (0.14 / 96.062) * checkedSalinity(practicalSalinity)) / salinityPerChlorinity;
}

/** Total fluoride, µmol/kg. @source Riley 1965, Deep-Sea Research 12:219. Salinity 0 to 45, else throws OutOfRange. */
export function totalFluoride_umol_kg(practicalSalinity: number): number {
  return (1e6 * (0.000067 / 18.998) * checkedSalinity(practicalSalinity)) / salinityPerChlorinity;
}

/**
 * Calcium of natural seawater, µmol/kg. @source Riley & Tongudai 1967, Chemical Geology 2:263, with their molar mass
 * 40.087 (today's 40.078 would give 0.02 % more). Salinity 0 to 45, else throws OutOfRange.
 */
export function calciumFromSalinity_umol_kg(practicalSalinity: number): number {
  return (1e6 * (0.02128 / 40.087) * checkedSalinity(practicalSalinity)) / salinityPerChlorinity;
}
