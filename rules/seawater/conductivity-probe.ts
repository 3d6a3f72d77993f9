import { OutOfRange, within } from '../quantity/out-of-range.ts';

/** The temperature to which nearly every probe refers what it displays, °C. */
export const referenceTemperature_C = 25;

/**
 * True conductivity from what a probe with linear temperature compensation displays. The alpha must be the probe's own:
 * one that is wrong by 0.1 % per °C costs 0.2 in salinity at 20 °C.
 *
 * @param displayed_mS_cm  conductivity referred to 25 °C as displayed, 0 or more, mS/cm
 * @param temperature_C  of the water, from -5 to 50 °C
 * @param alpha_percent_per_C  the coefficient set in the probe, from 0 (none) to 5 % per °C; 1.9 to 2.1 as a rule
 * @returns conductivity at the water's own temperature, mS/cm
 * @throws OutOfRange  for an input outside these limits
 * @source linear form of ISO 7888 and JIS K 0130 (clause from memory); checked against
 *   fixtures/reference/specific-conductance.csv
 */
export function conductivityFromLinearCompensation(
  displayed_mS_cm: number,
  temperature_C: number,
  alpha_percent_per_C: number,
): number {
  return checkedConductivity(displayed_mS_cm) * linearFactor(temperature_C, alpha_percent_per_C);
}

/** 1 + alpha (t - 25). With alpha to 5 % and t from -5 it stays positive only below 3.33 %, so the sign is checked too. */
function linearFactor(temperature_C: number, alpha_percent_per_C: number): number {
  const alpha_per_C = within('alpha, % per °C', alpha_percent_per_C, 0, 5) / 100;
  const factor = 1 + alpha_per_C * (within('temperature, °C', temperature_C, -5, 50) - referenceTemperature_C);
  if (!(factor > 0)) throw new OutOfRange('compensation factor', factor, 'above 0');
  return factor;
}

function checkedConductivity(conductivity_mS_cm: number): number {
  return within('conductivity, mS/cm', conductivity_mS_cm, 0, 1000);
}
