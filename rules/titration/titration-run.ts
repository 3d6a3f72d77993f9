import { nernstSlope_mV_per_pH } from '../seawater/nernst.ts';
import type { TitrationChemistry } from './acid-balance.ts';

/** One point of a run: the running total of acid, by mass, by volume or both, and what the electrode showed. */
export type TitrationPoint = {
  acid_g?: number;
  acid_mL?: number;
  /** pH, or millivolts, as `signal` of the run says. */
  reading: number;
};

/** How strong the acid is: moles for each kilogram, or for each litre, of the acid solution. */
type AcidStrength = { mol_kg: number } | { mol_L: number };

/**
 * What happens to the CO2. `open`: it has been driven off (acid to about pH 4, air or stirring, then on), so none is left in
 * the points that are used. `closed`: all of it stays; `dic_umol_kg` is what the sample holds, or left out to find it too.
 * A closed run called open reads 10 to 35 µmol/kg too low (seen on the reference runs), too little for the scatter to show.
 * `co2LeftAtMost`: the share of the CO2, 0 to 1, that may still be there; 0 unless given. The answer then takes half of it, and
 * its uncertainty that of a rectangle.
 */
type TitrationCell = { kind: 'open'; co2LeftAtMost?: number } | { kind: 'closed'; dic_umol_kg?: number };

/** A titration of seawater with strong acid, followed by an electrode. */
export type TitrationRun = {
  /** In the order of adding acid. */
  points: readonly TitrationPoint[];
  signal: 'ph' | 'emf_mV';
  /** Of the sample, mL at its temperature or g. */
  sample: { volume_mL: number } | { mass_g: number };
  /** Density of the sample, g/mL, 0.9 to 1.2. */
  sampleDensity_g_mL: number;
  acid: AcidStrength;
  /** Density of the acid, g/mL; 1.0226 unless given (0.1 mol/kg HCl in salt water as strong as the sea, 25 °C). */
  acidDensity_g_mL?: number;
  temperature_C: number;
  cell: TitrationCell;
  chemistry: TitrationChemistry;
  /** Smallest step of the reading, in the unit of the signal: the fit is not believed to be better than this allows. */
  readingResolution?: number;
  /** Standard uncertainty of the acid's strength as a share of it, such as 0.002; 0 unless given. */
  acidRelativeSd?: number;
  /** Standard uncertainty of the electrode's slope as a share of it, such as 0.01 after two buffers; 0 unless given. */
  slopeRelativeSd?: number;
  /** Standard uncertainty of the sample's volume or mass as a share of it; 0 unless given. */
  sampleRelativeSd?: number;
};

/** Why a run carries no answer. */
export type TitrationFault =
  | 'bad_input'
  | 'too_few_points'
  | 'acid_not_a_running_total'
  | 'mass_and_volume_disagree'
  | 'acid_amount_missing'
  | 'looks_like_millivolts'
  | 'looks_like_ph'
  | 'electrode_goes_the_wrong_way'
  | 'not_monotonic'
  | 'too_few_points_in_range'
  | 'no_fit'
  | 'poor_fit'
  | 'implausible_electrode'
  | 'implausible_alkalinity';

export type TitrationRefusal = { kind: 'no_answer'; fault: TitrationFault; why: string };

/** A refusal with its reason in words that tell a person what to look at. */
export function refuse(fault: TitrationFault, why: string): TitrationRefusal {
  return { kind: 'no_answer', fault, why };
}

/** A run reduced to what the fit needs: grams of acid by point, and readings on a pH-like scale with an unknown offset. */
export type ReducedRun = {
  kind: 'reduced';
  points: { acid_g: number; reading: number }[];
  sample_g: number;
  acid_mol_kg: number;
  /** What was taken for granted and matters to the answer. */
  assumptions: string[];
};

/** 0.1 mol/kg HCl in 0.6 mol/kg NaCl at 25 °C, g/mL. @source Dickson, Sabine & Christian 2007 by way of Calkulate 23.7.0 */
const saltAcidDensity_g_mL = 1.0226;

/**
 * Turns volumes into masses, moles a litre into moles a kilogram and millivolts into a pH-like scale.
 *
 * Where both columns of acid are there, the one that goes with the acid's strength is used: mL with mol/L, g with mol/kg, so
 * that the density hardly matters.
 */
export function reduceRun(run: TitrationRun): ReducedRun | TitrationRefusal {
  const acidDensity = run.acidDensity_g_mL ?? saltAcidDensity_g_mL;
  const acid_mol_kg = 'mol_kg' in run.acid ? run.acid.mol_kg : run.acid.mol_L / acidDensity;
  const sample_g = 'mass_g' in run.sample ? run.sample.mass_g : run.sample.volume_mL * run.sampleDensity_g_mL;
  const ranges: [string, number, number, number][] = [
    ['strength of the acid, mol/kg', acid_mol_kg, 0.001, 2],
    ['mass of the sample, g', sample_g, 1, 5000],
    ['density of the sample, g/mL', run.sampleDensity_g_mL, 0.9, 1.2],
    ['density of the acid, g/mL', acidDensity, 0.9, 1.2],
    ['temperature, °C', run.temperature_C, -2, 45],
    ['relative uncertainty of the acid', run.acidRelativeSd ?? 0, 0, 0.5],
    ['relative uncertainty of the sample', run.sampleRelativeSd ?? 0, 0, 0.5],
    ['relative uncertainty of the slope', run.slopeRelativeSd ?? 0, 0, 0.2],
    ['share of the CO2 that may be left', run.cell.kind === 'open' ? (run.cell.co2LeftAtMost ?? 0) : 0, 0, 1],
    ['resolution of the reading', run.readingResolution ?? 0, 0, 100],
  ];
  if (run.cell.kind === 'closed' && run.cell.dic_umol_kg !== undefined) {
    ranges.push(['dissolved inorganic carbon, µmol/kg', run.cell.dic_umol_kg, 0, 20_000]);
  }
  for (const [what, found, low, high] of ranges) {
    if (!(found >= low && found <= high))
      return refuse('bad_input', `${what}: found ${found}, need ${low} to ${high}.`);
  }

  const isByVolume = 'mol_L' in run.acid;
  const points: ReducedRun['points'] = [];
  let isByDensity = false;
  for (const [index, { acid_g, acid_mL, reading }] of run.points.entries()) {
    const fromVolume = acid_mL === undefined ? undefined : acid_mL * acidDensity;
    const grams = isByVolume ? (fromVolume ?? acid_g) : (acid_g ?? fromVolume);
    if (grams === undefined) return refuse('acid_amount_missing', `Point ${index + 1} has neither mL nor g of acid.`);
    if (!Number.isFinite(grams) || !Number.isFinite(reading) || grams < 0) {
      return refuse(
        'bad_input',
        `Point ${index + 1}: acid ${grams} g, reading ${reading}; need finite numbers, acid from 0.`,
      );
    }
    if (acid_g !== undefined && acid_mL !== undefined && acid_mL > 0) {
      const ratio = acid_g / acid_mL;
      if (!(ratio >= 0.9 && ratio <= 1.2)) {
        const found = `${acid_g} g for ${acid_mL} mL is ${ratio.toFixed(3)} g/mL`;
        return refuse(
          'mass_and_volume_disagree',
          `Point ${index + 1}: ${found}, need 0.9 to 1.2. Is a column in other units?`,
        );
      }
    }
    isByDensity ||= isByVolume ? acid_mL === undefined : acid_g === undefined;
    points.push({ acid_g: grams, reading });
  }
  const assumptions =
    isByDensity && run.acidDensity_g_mL === undefined
      ? [`acid density ${saltAcidDensity_g_mL} g/mL: an error of 1 % in it is 1 % of the alkalinity`]
      : [];
  if (run.signal === 'ph') return { kind: 'reduced', points, sample_g, acid_mol_kg, assumptions };
  const slope_mV = nernstSlope_mV_per_pH(run.temperature_C);
  const asPh = points.map(({ acid_g, reading }) => ({ acid_g, reading: -reading / slope_mV }));
  return { kind: 'reduced', points: asPh, sample_g, acid_mol_kg, assumptions };
}
