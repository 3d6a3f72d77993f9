import { dkhFromMeqPerL } from '../quantity/alkalinity-unit.ts';
import { nernstSlope_mV_per_pH } from '../seawater/nernst.ts';
import { type AlkalinityFit, fitAlkalinity } from './alkalinity-fit.ts';
import { faultInRun } from './run-faults.ts';
import { reduceRun, refuse, type TitrationRefusal, type TitrationRun } from './titration-run.ts';

export type TitrationAnswer = {
  kind: 'answer';
  totalAlkalinity_umol_kg: number;
  /** At the density of the sample. */
  totalAlkalinity_meq_l: number;
  totalAlkalinity_dkh: number;
  /** Standard uncertainty: scatter of the points or resolution of the meter, whichever is more, with acid and sample. */
  sd_umol_kg: number;
  /** The part of it that the points explain. */
  fitSd_umol_kg: number;
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

  const fitSd_umol_kg = Math.max(fit.scatterSd_umol_kg, sdFromResolution(run, fit));
  const sdOfStated_umol_kg =
    fit.totalAlkalinity_umol_kg * Math.hypot(run.acidRelativeSd ?? 0, run.sampleRelativeSd ?? 0);
  const meq_l = (fit.totalAlkalinity_umol_kg * run.sampleDensity_g_mL) / 1000;
  return {
    kind: 'answer',
    totalAlkalinity_umol_kg: fit.totalAlkalinity_umol_kg,
    totalAlkalinity_meq_l: meq_l,
    totalAlkalinity_dkh: dkhFromMeqPerL(meq_l),
    sd_umol_kg: Math.hypot(fitSd_umol_kg, sdOfStated_umol_kg),
    fitSd_umol_kg,
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
