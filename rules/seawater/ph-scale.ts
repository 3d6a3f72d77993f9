import { within } from '../quantity/out-of-range.ts';
import { bisulfateKsDickson1990, fluorideKfDicksonRiley1979, kelvinWithin } from './carbonate-constants.ts';
import { totalFluoride_umol_kg, totalSulfate_umol_kg } from './seawater-composition.ts';

/**
 * The scales on which a pH of seawater is stated. `total` counts H and HSO4, `seawater` HF too, `free` H alone. `nbs` is
 * what an electrode shows that was calibrated in dilute (NBS, NIST) buffers, as nearly all in aquariums are.
 */
export type PhScale = 'total' | 'seawater' | 'free' | 'nbs';

export type WaterSample = { salinity: number; temperature_C: number };

/**
 * Standard uncertainty of a pH turned from `nbs` into any other scale, or back, pH. Electrodes calibrated alike in dilute
 * buffers differ in seawater by 0.01 to 0.05 from one to another (liquid junction); taken as even within ±0.05 (GUM
 * 4.3.7): 0.05/√3. A converted reading is therefore not a measured total-scale pH.
 */
export const nbsConversionStandardUncertainty_pH = 0.05 / Math.sqrt(3);

/** [H] on the total scale over [H] free, no unit: 1 + TSO4/KSO4. Limits as bisulfateKsDickson1990. */
export function totalOverFreeH({ salinity, temperature_C }: WaterSample): number {
  return 1 + (totalSulfate_umol_kg(salinity) * 1e-6) / bisulfateKsDickson1990(salinity, temperature_C);
}

/** [H] on the seawater scale over [H] free, no unit: 1 + TSO4/KSO4 + TF/KF. Limits as fluorideKfDicksonRiley1979. */
export function seawaterOverFreeH(water: WaterSample): number {
  const kf_mol_kg = fluorideKfDicksonRiley1979(water.salinity, water.temperature_C);
  return totalOverFreeH(water) + (totalFluoride_umol_kg(water.salinity) * 1e-6) / kf_mol_kg;
}

/**
 * The apparent activity factor fH that links the NBS scale to the seawater scale: 10^-pH(NBS) = fH [H] seawater.
 * Salinity 19 to 43, 2 to 35 °C (limits of the carbonate system; those of the source were not seen).
 *
 * @source Takahashi et al. 1982, GEOSECS Pacific Expedition vol. 3, p. 77
 */
export function activityFactorTakahashi1982({ salinity, temperature_C }: WaterSample): number {
  const T = kelvinWithin(salinity, temperature_C, [19, 43], [2, 35]);
  return 1.2948 - 0.002036 * T + (0.0004607 - 0.000001475 * T) * salinity ** 2;
}

/**
 * A pH of seawater on another scale.
 *
 * @param ph  on `fromScale`, from 2 to 12
 * @param water  salinity 19 to 43 (no unit), temperature 5 to 35 °C
 * @returns pH on `toScale`; from or to `nbs` with nbsConversionStandardUncertainty_pH, which no formula can take away
 * @throws OutOfRange  for an input outside these limits
 * @source Dickson, Sabine & Christian 2007, chapter 2; constants Dickson 1990 and Dickson & Riley 1979; fH Takahashi et
 *   al. 1982. Checked against fixtures/reference/ph-scales.csv
 */
export function convertPh(ph: number, fromScale: PhScale, toScale: PhScale, water: WaterSample): number {
  within('pH', ph, 2, 12);
  within('practical salinity', water.salinity, 19, 43);
  within('temperature, °C', water.temperature_C, 5, 35);
  return ph + (Math.log10(overFreeH(fromScale, water)) - Math.log10(overFreeH(toScale, water)));
}

/** [H] on a scale over [H] free; for `nbs` the activity of H over [H] free. */
function overFreeH(scale: PhScale, water: WaterSample): number {
  if (scale === 'free') return 1;
  if (scale === 'total') return totalOverFreeH(water);
  const seawater = seawaterOverFreeH(water);
  return scale === 'seawater' ? seawater : seawater * activityFactorTakahashi1982(water);
}

/** A pH with its standard uncertainty, both in pH. */
export type PhWithUncertainty = { ph: number; standardUncertainty_pH: number };

/**
 * The total-scale pH behind a reading of an electrode that was calibrated in NBS (NIST) buffers, with what is known of it.
 *
 * @param reading  pH on `nbs` and its own standard uncertainty, 0 or more
 * @param water  as for convertPh
 * @returns pH on the total scale; the uncertainty of the conversion joined in as a root of squares (GUM 5.1.2)
 * @throws OutOfRange  for an input outside these limits
 * @source convertPh, nbsConversionStandardUncertainty_pH
 */
export function totalPhFromNbs(reading: PhWithUncertainty, water: WaterSample): PhWithUncertainty {
  within('standard uncertainty of pH', reading.standardUncertainty_pH, 0, 10);
  return {
    ph: convertPh(reading.ph, 'nbs', 'total', water),
    standardUncertainty_pH: Math.hypot(reading.standardUncertainty_pH, nbsConversionStandardUncertainty_pH),
  };
}
