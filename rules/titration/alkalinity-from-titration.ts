import { dkhFromMeqPerL } from '../quantity/alkalinity-unit.ts';
import { nernstSlope_mV_per_pH } from '../seawater/nernst.ts';
import { type AlkalinityFit, fitAlkalinity, usualDicOverAlkalinity } from './alkalinity-fit.ts';
import { combined } from './coverage.ts';
import { faultInRun } from './run-faults.ts';
import { reduceRun, refuse, type TitrationRefusal, type TitrationRun } from './titration-run.ts';

export type TitrationAnswer = {
  kind: 'answer';
  totalAlkalinity_umol_kg: number;
  /** At the density of the sample. */
  totalAlkalinity_meq_l: number;
  totalAlkalinity_dkh: number;
  /** Standard uncertainty: all `shares` together. */
  sd_umol_kg: number;
  /** Half of the 95 % interval: wider than twice the sd where few points carry it. */
  halfWidth95_umol_kg: number;
  /** The part of it that the points explain: their scatter or the resolution of the meter, whichever is more. */
  fitSd_umol_kg: number;
  /** Where the uncertainty comes from, as standard uncertainties, µmol/kg. */
  shares: { points: number; slope: number; co2: number; acid: number; sample: number };
  /** Found by the fit in a closed cell whose inorganic carbon was not stated. */
  dic_umol_kg?: number;
  electrode: ElectrodeFound;
  points_used: number;
  /** For each point used: pH read, less offset, less pH by the model. */
  residuals: { acid_g: number; phFree: number; residual_ph: number }[];
  residualSd_ph: number;
  /** What was taken for granted and matters to the answer. */
  assumptions: string[];
};

/**
 * What the fit says about the electrode. A pH meter: how far it reads above the free-scale pH. Millivolts: E0 such that
 * E = E0 + (RT/F) ln [H+], with the free hydrogen ion, and with the total one, [H+]free (1 + S/Ks), as SOP 3b writes it;
 * the second is some 6 mV lower.
 */
type ElectrodeFound = { signal: 'ph'; phOffset: number } | { signal: 'emf_mV'; e0Free_mV: number; e0Total_mV: number };

export type TitrationVerdict = TitrationAnswer | TitrationRefusal;

/** Limits of belief: outside them a wrong unit or strength is likelier than the water. Common practice, no published source. */
const mostOffset_ph = 0.5;
const e0Believed_mV = { low: 200, high: 600 };
const believed_umol_kg = { low: 100, high: 10_000 };
const mostScatter_ph = 0.04;

/**
 * Total alkalinity from a titration with strong acid, the electrode's offset found by the same fit: Gran's line to start,
 * then least squares by the whole balance of acid and bases (see `fitAlkalinity`).
 *
 * @returns the answer, or why the run carries none; it does not throw
 * @source Dickson 1981, Deep-Sea Res. 28A:609; Dickson, Sabine & Christian 2007, SOP 3a and 3b; JCGM 100 for the uncertainty.
 *   Checked against fixtures/reference/alkalinity-titrations.csv
 */
export function alkalinityFromTitration(run: TitrationRun): TitrationVerdict {
  const reduced = reduceRun(run);
  if (reduced.kind === 'no_answer') return reduced;
  const fault = faultInRun(run, reduced);
  if (fault) return fault;
  const fit = fitAlkalinity(run, reduced);
  if (fit.kind === 'no_answer') return fit;
  const electrode = electrodeFound(run, fit.offset);
  const doubt = doubtAbout(fit, electrode);
  if (doubt) return doubt;

  const doubts = doubtsOfRun(run, fit);
  const totalAlkalinity_umol_kg = fit.totalAlkalinity_umol_kg + doubts.co2Correction_umol_kg;
  const byResolution = sdFromResolution(run, fit);
  const fitSd_umol_kg = Math.max(fit.scatterSd_umol_kg, byResolution);
  const shares = {
    points: fitSd_umol_kg,
    slope: doubts.slope_umol_kg,
    co2: doubts.co2_umol_kg,
    acid: totalAlkalinity_umol_kg * (run.acidRelativeSd ?? 0),
    sample: totalAlkalinity_umol_kg * (run.sampleRelativeSd ?? 0),
  };
  const { sd, halfWidth95 } = combined(
    Object.entries(shares).map(([from, each]) => ({
      sd: each,
      freedom: from === 'points' && fit.scatterSd_umol_kg > byResolution ? fit.freedom : Number.POSITIVE_INFINITY,
    })),
  );
  const meq_l = (totalAlkalinity_umol_kg * run.sampleDensity_g_mL) / 1000;
  return {
    kind: 'answer',
    totalAlkalinity_umol_kg,
    totalAlkalinity_meq_l: meq_l,
    totalAlkalinity_dkh: dkhFromMeqPerL(meq_l),
    sd_umol_kg: sd,
    halfWidth95_umol_kg: halfWidth95,
    fitSd_umol_kg,
    shares,
    ...(fit.isDicFound ? { dic_umol_kg: fit.dic_umol_kg } : {}),
    electrode,
    points_used: fit.used.length,
    residuals: fit.used.map(({ acid_g, reading }, index) => ({
      acid_g,
      phFree: reading - fit.offset,
      residual_ph: fit.residuals_ph[index]!,
    })),
    residualSd_ph: fit.scatter_ph,
    assumptions: reduced.assumptions,
  };
}

/**
 * What the electrode's slope and CO2 that may still be there let the alkalinity be unsure of: the fit done again with either
 * changed. Where the changed run has no fit, nothing is known of that part, and the run is judged by the others.
 *
 * @source JCGM 100:2008, 5.1.3 note 2 (an effect found by changing the input), 4.3.7 (a rectangle between two bounds)
 */
function doubtsOfRun(run: TitrationRun, fit: AlkalinityFit) {
  const slope = run.slopeRelativeSd ?? 0;
  const left = run.cell.kind === 'open' ? (run.cell.co2LeftAtMost ?? 0) : 0;
  const refitted = (changed: TitrationRun): number => {
    const reduced = reduceRun(changed);
    const again = reduced.kind === 'reduced' ? fitAlkalinity(changed, reduced) : reduced;
    return again.kind === 'fit' ? again.totalAlkalinity_umol_kg : fit.totalAlkalinity_umol_kg;
  };
  const steeper = (by: number): TitrationRun => ({
    ...run,
    points: run.points.map((point) => ({ ...point, reading: point.reading * (1 + by) })),
  });
  const dic_umol_kg = left * usualDicOverAlkalinity * fit.totalAlkalinity_umol_kg;
  const co2Most_umol_kg =
    left === 0 ? 0 : refitted({ ...run, cell: { kind: 'closed', dic_umol_kg } }) - fit.totalAlkalinity_umol_kg;
  return {
    slope_umol_kg: slope === 0 ? 0 : Math.abs(refitted(steeper(slope)) - refitted(steeper(-slope))) / 2,
    co2_umol_kg: Math.abs(co2Most_umol_kg) / Math.sqrt(12),
    co2Correction_umol_kg: co2Most_umol_kg / 2,
  };
}

/**
 * What the last digit of the meter alone lets the alkalinity be unsure of. A resolution is a rectangle of that width, so its
 * standard uncertainty is the width over √12.
 *
 * @source JCGM 100:2008, F.2.2.1
 */
function sdFromResolution(run: TitrationRun, fit: AlkalinityFit): number {
  const perPh = run.signal === 'ph' ? 1 : nernstSlope_mV_per_pH(run.temperature_C);
  const sd_ph = (run.readingResolution ?? 0) / perPh / Math.sqrt(12);
  return sd_ph * Math.hypot(...fit.influence_umol_kg_ph);
}

function electrodeFound(run: TitrationRun, offset: number): ElectrodeFound {
  if (run.signal === 'ph') return { signal: 'ph', phOffset: offset };
  const slope_mV = nernstSlope_mV_per_pH(run.temperature_C);
  const totalOverFree = 1 + (1e-6 * run.chemistry.totalSulfate_umol_kg) / run.chemistry.ks;
  const e0Free_mV = -offset * slope_mV;
  return { signal: 'emf_mV', e0Free_mV, e0Total_mV: e0Free_mV - slope_mV * Math.log10(totalOverFree) };
}

const checkUnits = "Check the strength of the acid, the sample's size and their units.";

function doubtAbout(fit: AlkalinityFit, electrode: ElectrodeFound): TitrationRefusal | undefined {
  if (electrode.signal === 'ph' && !(Math.abs(electrode.phOffset) <= mostOffset_ph)) {
    const found = `The meter would read ${electrode.phOffset.toFixed(2)} above the pH, believed up to ${mostOffset_ph}`;
    return refuse('implausible_electrode', `${found}. ${checkUnits}`);
  }
  if (electrode.signal === 'emf_mV') {
    const { e0Free_mV } = electrode;
    const { low, high } = e0Believed_mV;
    if (!(e0Free_mV >= low && e0Free_mV <= high)) {
      const found = `E0 would be ${e0Free_mV.toFixed(0)} mV, believed from ${low} to ${high}`;
      return refuse('implausible_electrode', `${found}. ${checkUnits}`);
    }
  }
  const { low, high } = believed_umol_kg;
  if (!(fit.totalAlkalinity_umol_kg >= low && fit.totalAlkalinity_umol_kg <= high)) {
    const found = `${fit.totalAlkalinity_umol_kg.toFixed(0)} µmol/kg, believed from ${low} to ${high}`;
    return refuse('implausible_alkalinity', `The alkalinity would be ${found}. ${checkUnits}`);
  }
  if (!(fit.scatter_ph <= mostScatter_ph)) {
    const found = `by ${fit.scatter_ph.toFixed(3)} pH, believed up to ${mostScatter_ph}`;
    const causes =
      'Was the cell open or closed as said, the inorganic carbon and the strength of the acid right, the electrode steady?';
    return refuse('poor_fit', `The points scatter about the fit ${found}. ${causes}`);
  }
  return undefined;
}
