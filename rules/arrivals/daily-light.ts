import { OutOfRange, within } from '../quantity/out-of-range.ts';

/** The light's day: dark to full in a straight line, full light, and down again. Hours, together above 0 and at most 24. */
export type LightDay = { fullHours: number; rampUpHours?: number; rampDownHours?: number };

/**
 * Hours at full light that give as much light as the whole day: a ramp counts half.
 *
 * @returns above 0, at most 24 h
 * @throws OutOfRange  for hours outside the limits of LightDay
 */
export function equivalentFullHours(day: LightDay): number {
  const fullHours = within('hours of full light', day.fullHours, 0, 24);
  const rampHours =
    within('hours of ramp up', day.rampUpHours ?? 0, 0, 24) +
    within('hours of ramp down', day.rampDownHours ?? 0, 0, 24);
  if (!(fullHours + rampHours > 0 && fullHours + rampHours <= 24)) {
    throw new OutOfRange("hours of the light's day", fullHours + rampHours, 'above 0, at most 24');
  }
  return fullHours + rampHours / 2;
}

/**
 * Daily light integral: all the light of a day on one square metre.
 *
 * @param par_umol_m2_s  at full light, 0 to 5000 µmol/m²/s
 * @returns mol/m² in a day
 * @throws OutOfRange  outside these limits
 * @source definition: mean PAR over the lit time × its seconds / 1,000,000
 */
export function dailyLightIntegral(par_umol_m2_s: number, day: LightDay): number {
  return (within('PAR, µmol/m²/s', par_umol_m2_s, 0, 5000) * equivalentFullHours(day) * 3600) / 1e6;
}

/**
 * PAR at full light that gives a daily light integral: the inverse of `dailyLightIntegral`.
 *
 * @param dli_mol_m2  0 to 432 mol/m² in a day
 * @throws OutOfRange  outside these limits
 */
export function parFromDailyLight(dli_mol_m2: number, day: LightDay): number {
  return (within('daily light integral, mol/m²', dli_mol_m2, 0, 432) * 1e6) / (equivalentFullHours(day) * 3600);
}
