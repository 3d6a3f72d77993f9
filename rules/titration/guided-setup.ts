import { densityFromSalinityEos80 } from '../seawater/density.ts';
import type { TitrationChemistry } from './acid-balance.ts';
import type { Airing } from './co2-hold.ts';
import type { ExpectedAlkalinity } from './next-acid.ts';
import { titrationChemistry } from './seawater-titration.ts';
import { reduceRun, type TitrationRun } from './titration-run.ts';

/** What a person says before the first acid, and what is known of the probe and the tank. */
export type GuidedSetup = {
  sample: { volume_mL: number } | { mass_g: number };
  /** Standard uncertainties of sample and acid as shares, 0 to 0.5. */
  sampleRelativeSd: number;
  acid: { mol_kg: number } | { mol_L: number };
  acidRelativeSd: number;
  /** How the acid is measured, and the smallest step of that scale in its unit. */
  acidBy: 'mL' | 'g';
  acidStep: number;
  salinity: number;
  /** Of the sample. */
  temperature_C: number;
  airing: Airing;
  expected_umol_kg: ExpectedAlkalinity;
  /** Standard uncertainty of the probe's slope as a share, and the last digit that it sends, pH. */
  slopeRelativeSd: number;
  readingResolution_ph: number;
};

/**
 * One portion, in the unit of `acidBy`; when a person said that it is in. `maybeInSinceMs`: it was said before with a wrong amount, and
 * what the probe read since then belongs to no certain amount.
 */
export type AcidPortion = { timeMs: number; amount: number; maybeInSinceMs?: number | undefined };

/** One amount of acid and what the probe came to. */
export type GuidedPoint = {
  timeMs: number;
  /** Running total in the unit of the setup. */
  acid: number;
  ph: number;
  sd_ph: number;
  /** True when the probe had come to rest. */
  isAtRest: boolean;
};

/** The one thing to do now. Amounts in the unit of the setup. */
export type GuidedDeed =
  | { do: 'add'; amount: number; total: number; size: 'large' | 'small' }
  | { do: 'wait'; for: 'probe' | 'co2'; sinceMs: number }
  | { do: 'stop'; why: StopReason };

/** `narrow`: more acid would hardly shrink the interval. `bottom`: pH 3 is reached. `clock`: the times of what follows are unknown. */
export type StopReason = 'narrow' | 'bottom' | 'clock';

export type GuidedBeaker = {
  chemistry: TitrationChemistry;
  sample_g: number;
  acid_mol_kg: number;
  sampleDensity_g_mL: number;
  /** Grams of one unit in which acid is measured. */
  gramsOfUnit: number;
};

/**
 * The beaker in grams and constants.
 *
 * @throws OutOfRange  for a salinity outside 19 to 43, a temperature outside 5 to 35 °C
 */
export function guidedBeaker(setup: GuidedSetup): GuidedBeaker | { kind: 'no_answer'; why: string } {
  const run = guidedRun(setup, [{ acid: 1, ph: 4 }], 0);
  const reduced = reduceRun(run);
  if (reduced.kind === 'no_answer') return reduced;
  const { chemistry, sampleDensity_g_mL } = run;
  const { sample_g, acid_mol_kg, points } = reduced;
  return { chemistry, sampleDensity_g_mL, sample_g, acid_mol_kg, gramsOfUnit: points[0]!.acid_g };
}

/** A run for the fit: acid as running totals in the unit of `acidBy`. */
export function guidedRun(
  setup: GuidedSetup,
  points: readonly { acid: number; ph: number }[],
  co2LeftAtMost: number,
): TitrationRun {
  const { sample, acid, temperature_C, salinity, acidBy } = setup;
  return {
    points: points.map((point) =>
      acidBy === 'mL' ? { acid_mL: point.acid, reading: point.ph } : { acid_g: point.acid, reading: point.ph },
    ),
    signal: 'ph',
    sample,
    acid,
    temperature_C,
    cell: { kind: 'open', co2LeftAtMost },
    chemistry: titrationChemistry(salinity, temperature_C),
    sampleDensity_g_mL: densityFromSalinityEos80(salinity, temperature_C) / 1000,
    readingResolution: setup.readingResolution_ph,
    acidRelativeSd: setup.acidRelativeSd,
    sampleRelativeSd: setup.sampleRelativeSd,
    slopeRelativeSd: setup.slopeRelativeSd,
  };
}
