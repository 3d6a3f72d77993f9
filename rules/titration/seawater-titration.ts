import { OutOfRange } from '../quantity/out-of-range.ts';
import { equilibriumAt } from '../seawater/carbonate-equilibrium.ts';
import { densityFromSalinityEos80 } from '../seawater/density.ts';
import type { BoronOption } from '../seawater/seawater-composition.ts';
import type { TitrationChemistry } from './acid-balance.ts';
import { alkalinityFromTitration, type TitrationVerdict } from './alkalinity-from-titration.ts';
import { refuse, type TitrationRun } from './titration-run.ts';

/**
 * The equilibria of a sample from its salinity and temperature, without phosphate: 1 µmol/kg of it (0.1 mg/L) adds 1 µmol/kg
 * to the alkalinity found, which is then true, for phosphate is a base that counts.
 *
 * @param salinity       practical salinity, 19 to 43
 * @param temperature_C  ITS-90, 5 to 35 °C
 * @param boronOption    matters little here: below pH 4 no borate is left
 * @throws OutOfRange  outside these limits
 * @source the constants of `equilibriumAt`, moved from the total to the free scale by 1 + S/Ks
 */
export function titrationChemistry(
  salinity: number,
  temperature_C: number,
  boronOption: BoronOption = 'uppstrom1974',
): TitrationChemistry {
  const water = equilibriumAt(salinity, temperature_C, boronOption);
  return {
    k1: water.k1 / water.totalOverFree,
    k2: water.k2 / water.totalOverFree,
    kb: water.kb / water.totalOverFree,
    kw: water.kw / water.totalOverFree,
    ks: water.ks,
    kf: water.kf,
    totalBoron_umol_kg: 1e6 * water.boron,
    totalSulfate_umol_kg: 1e6 * water.sulfate,
    totalFluoride_umol_kg: 1e6 * water.fluoride,
  };
}

/** A titration as a person states it: the water by its salinity instead of by constants and density. */
export type SeawaterTitration = Omit<TitrationRun, 'chemistry' | 'sampleDensity_g_mL'> & {
  salinity: number;
  boronOption?: BoronOption;
};

/**
 * Total alkalinity of a seawater sample from a titration with strong acid: `alkalinityFromTitration` with the constants and
 * the density of the sample's salinity and temperature.
 *
 * @returns the answer, or why the run carries none, also for a salinity (19 to 42) or temperature (5 to 35 °C) out of range
 */
export function alkalinityFromSeawaterTitration(titration: SeawaterTitration): TitrationVerdict {
  const { salinity, boronOption, ...run } = titration;
  try {
    const chemistry = titrationChemistry(salinity, run.temperature_C, boronOption);
    const sampleDensity_g_mL = densityFromSalinityEos80(salinity, run.temperature_C) / 1000;
    return alkalinityFromTitration({ ...run, chemistry, sampleDensity_g_mL });
  } catch (error) {
    if (error instanceof OutOfRange) return refuse('bad_input', `${error.message}.`);
    throw error;
  }
}
