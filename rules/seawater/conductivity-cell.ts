import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { type KclStandard, kclShown_mS_cm, kclTolerance_percent } from './conductivity-standard.ts';
import { conductivityFromPracticalSalinity } from './practical-salinity.ts';

/** What the probe stands in while it is checked: a potassium chloride standard, or seawater of known salinity. */
export type ConductivityStandard =
  | { kcl: KclStandard }
  | {
      /** 35 for standard seawater; 2 to 42. */
      seawaterSalinity: number;
      /** Of that salinity, 0 to 1. */
      salinityStandardUncertainty: number;
    };

export type CellCheck = {
  /** Multiply every conductivity of the probe by this. */
  factor: number;
  /** What the standard's conductivity is at this temperature, mS/cm. */
  standard_mS_cm: number;
  /** How much the probe shows too much (positive) or too little, %. */
  error_percent: number;
  /** Of the factor, %: from the standard and the temperature; the probe's own scatter is not in it. */
  standardUncertainty_percent: number;
};

/**
 * The factor that makes a conductivity probe show what a standard is.
 *
 * @param shown_mS_cm  by the probe in the standard, at the standard's own temperature; a display referred to 25 °C goes
 *   through conductivityFromLinearCompensation first; 1e-6 to 1000 mS/cm
 * @param temperature_C  of the standard, ITS-90, inside the standard's table
 * @param temperatureStandardUncertainty_C  0 to 5 °C; 0.5 °C is worth 1 % here
 * @throws OutOfRange  for an input outside these limits, or when the factor is not within 0.5 to 2: another standard or
 *   another unit stands behind that, not a cell
 * @source ratio to the standard; uncertainty by JCGM 100:2008, 5.1.2, the standard's tolerance taken as even within its
 *   limits (4.3.7)
 */
export function cellFactorFromStandard(
  shown_mS_cm: number,
  temperature_C: number,
  temperatureStandardUncertainty_C: number,
  standard: ConductivityStandard,
): CellCheck {
  within('shown conductivity, mS/cm', shown_mS_cm, 1e-6, 1000);
  const uTemperature_C = within('standard uncertainty of temperature, °C', temperatureStandardUncertainty_C, 0, 5);
  const standard_mS_cm = conductivityOf(standard, temperature_C);
  const factor = standard_mS_cm / shown_mS_cm;
  if (!(factor >= 0.5 && factor <= 2)) throw new OutOfRange('cell factor', factor, '0.5 to 2');
  const fromTemperature_percent = slope_percent_per_C(standard, temperature_C) * uTemperature_C;
  return {
    factor,
    standard_mS_cm,
    error_percent: 100 / factor - 100,
    standardUncertainty_percent: Math.hypot(uncertaintyOf_percent(standard, temperature_C), fromTemperature_percent),
  };
}

function conductivityOf(standard: ConductivityStandard, temperature_C: number): number {
  if ('kcl' in standard) return kclShown_mS_cm(standard.kcl, temperature_C);
  const salinity = within('salinity of the standard', standard.seawaterSalinity, 2, 42);
  return conductivityFromPracticalSalinity(salinity, temperature_C);
}

function uncertaintyOf_percent(standard: ConductivityStandard, temperature_C: number): number {
  if ('kcl' in standard) return kclTolerance_percent(standard.kcl) / Math.sqrt(3);
  const u = within('standard uncertainty of salinity', standard.salinityStandardUncertainty, 0, 1);
  const here = conductivityFromPracticalSalinity(standard.seawaterSalinity, temperature_C);
  const fresher = conductivityFromPracticalSalinity(standard.seawaterSalinity - 0.1, temperature_C);
  return ((1 - fresher / here) / 0.1) * u * 100;
}

/** How fast the standard's conductivity rises, % per °C: about 2. Taken towards 22 °C, which every table holds. */
function slope_percent_per_C(standard: ConductivityStandard, temperature_C: number): number {
  const inner = temperature_C > 22 ? -0.1 : 0.1;
  const ratio = conductivityOf(standard, temperature_C + inner) / conductivityOf(standard, temperature_C);
  return ((ratio - 1) / inner) * 100;
}
