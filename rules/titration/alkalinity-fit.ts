import { alkalinityAfterAcid, alkalinityLeft, phFreeAfterAcid } from './acid-balance.ts';
import { granLine } from './gran.ts';
import { type LeastSquaresFit, leastSquares } from './least-squares.ts';
import { fewestPoints } from './run-faults.ts';
import { type ReducedRun, refuse, type TitrationRefusal, type TitrationRun } from './titration-run.ts';

type Point = ReducedRun['points'][number];

/** What the points of a run agree on. */
export type AlkalinityFit = {
  kind: 'fit';
  totalAlkalinity_umol_kg: number;
  /** Reading less free pH. */
  offset: number;
  dic_umol_kg: number;
  isDicFound: boolean;
  used: readonly Point[];
  /** For each point used: pH read, less offset, less pH by the model. */
  residuals_ph: number[];
  /** Points less parameters. */
  freedom: number;
  /** Standard deviation of those, with the parameters counted off. */
  scatter_ph: number;
  /** Standard uncertainty from the scatter of the points. */
  scatterSd_umol_kg: number;
  /** Change of the alkalinity for one unit of pH at each point used. */
  influence_umol_kg_ph: number[];
};

/** Free pH of the points that carry the answer when the inorganic carbon is known or gone. SOP 3b uses 3.0 to 3.5. */
const range = { low: 3.0, high: 4.0 };

/** Where carbonate species still buffer: the points that tell how much inorganic carbon a closed cell holds. */
const bufferedFrom_ph = 5;
const fewestBufferedPoints = 4;

/** Inorganic carbon over alkalinity of seawater in balance with the air, 0.85 to 0.95. Common practice, no published source */
export const usualDicOverAlkalinity = 0.9;

/** The pH range is of true pH, known only after a fit, so the points are chosen again until the choice stands. */
const mostRounds = 8;

const noFit = refuse(
  'no_fit',
  'The fit found no alkalinity that the points agree on. Check the strength of the acid and the units, or state the inorganic carbon.',
);

/**
 * Fits alkalinity and the electrode's offset, and in a closed cell without a stated one also the inorganic carbon.
 *
 * With the carbon known, least squares of the alkalinity balance over pH 3 to 4, as SOP 3b weighs the points: those with
 * the most acid count most, and what little CO2 an open cell still holds counts least. With the carbon unknown, least
 * squares of pH over the whole curve, since the points above pH 5 are the ones that know it.
 */
export function fitAlkalinity(run: TitrationRun, reduced: ReducedRun): AlkalinityFit | TitrationRefusal {
  const start = startByGran(reduced);
  if (!start) return refuse('too_few_points_in_range', 'No points past the equivalence point: add acid to pH 3.');

  const statedDic = run.cell.kind === 'open' ? 0 : run.cell.dic_umol_kg;
  const isDicFound = statedDic === undefined;
  let { offset, totalAlkalinity_umol_kg } = start;
  let dic_umol_kg = statedDic ?? usualDicOverAlkalinity * totalAlkalinity_umol_kg;
  let used: Point[] = [];
  let fit: LeastSquaresFit | undefined;
  for (let round = 0; round < mostRounds; round += 1) {
    const chosen = pointsInRange(reduced.points, offset, isDicFound);
    if ('kind' in chosen) return chosen;
    if (fit && chosen.length === used.length && chosen[0] === used[0]) break;
    used = chosen;
    const residualsAt = isDicFound
      ? phResiduals(run, reduced, used)
      : balanceResiduals(run, reduced, used, dic_umol_kg);
    const guess = [totalAlkalinity_umol_kg, offset, ...(isDicFound ? [dic_umol_kg] : [])];
    fit = leastSquares(residualsAt, guess, isDicFound ? [1, 1e-4, 1] : [1, 1e-4]);
    if (!fit.hasConverged) return noFit;
    [totalAlkalinity_umol_kg, offset] = [fit.parameters[0]!, fit.parameters[1]!];
    dic_umol_kg = fit.parameters[2] ?? dic_umol_kg;
  }
  if (!fit) return noFit;

  const freedom = used.length - fit.parameters.length;
  const residuals_ph = phResiduals(run, reduced, used)([totalAlkalinity_umol_kg, offset, dic_umol_kg]);
  return {
    kind: 'fit',
    totalAlkalinity_umol_kg,
    offset,
    dic_umol_kg,
    isDicFound,
    used,
    residuals_ph,
    freedom,
    scatter_ph: Math.sqrt(residuals_ph.reduce((sum, each) => sum + each * each, 0) / freedom),
    scatterSd_umol_kg: Math.sqrt((fit.sumOfSquares / freedom) * fit.inverseNormal[0]![0]!),
    influence_umol_kg_ph: influences(fit),
  };
}

/** Gran's line through all points, then again and again through those that it places below pH 3.7, as the start of the fit. */
function startByGran(reduced: ReducedRun): { totalAlkalinity_umol_kg: number; offset: number } | undefined {
  const { points, sample_g, acid_mol_kg } = reduced;
  let line = granLine(points, sample_g, acid_mol_kg);
  for (let round = 0; line && round < 4; round += 1) {
    const { offset } = line;
    const acidic = points.filter(({ reading }) => reading - offset <= 3.7);
    line = granLine(acidic, sample_g, acid_mol_kg) ?? line;
  }
  if (!line || !(line.equivalence_g > 0)) return undefined;
  return { totalAlkalinity_umol_kg: (1e6 * line.equivalence_g * acid_mol_kg) / sample_g, offset: line.offset };
}

function pointsInRange(points: readonly Point[], offset: number, isDicFound: boolean): Point[] | TitrationRefusal {
  const ph = ({ reading }: Point): number => reading - offset;
  const above = points.filter((point) => ph(point) >= range.low);
  const acidic = above.filter((point) => ph(point) <= range.high);
  if (acidic.length < fewestPoints) {
    const found = `${acidic.length} of ${points.length} points have pH between ${range.low} and ${range.high}`;
    return refuse('too_few_points_in_range', `${found}, need ${fewestPoints}. Add acid to pH 3 in smaller steps.`);
  }
  if (!isDicFound) return acidic;
  const buffered = above.filter((point) => ph(point) >= bufferedFrom_ph).length;
  if (buffered >= fewestBufferedPoints) return above;
  const found = `${buffered} points above pH ${bufferedFrom_ph}`;
  const need = `a closed cell needs ${fewestBufferedPoints} of them, or its inorganic carbon stated`;
  return refuse('too_few_points_in_range', `${found}; ${need}.`);
}

/** µmol/kg of mixture that are left over between what the acid leaves and what the pH says is there. */
function balanceResiduals(run: TitrationRun, reduced: ReducedRun, used: readonly Point[], dic_umol_kg: number) {
  return ([totalAlkalinity_umol_kg, offset]: readonly number[]): number[] =>
    used.map(({ acid_g, reading }) => {
      const sample = { mass_g: reduced.sample_g, totalAlkalinity_umol_kg: totalAlkalinity_umol_kg!, dic_umol_kg };
      const dilution = reduced.sample_g / (reduced.sample_g + acid_g);
      const byPh = alkalinityLeft(run.chemistry, 10 ** (offset! - reading), dilution, dic_umol_kg);
      return 1e6 * (byPh - alkalinityAfterAcid(sample, acid_g, reduced.acid_mol_kg));
    });
}

/** pH read, less offset, less pH by the model. */
function phResiduals(run: TitrationRun, reduced: ReducedRun, used: readonly Point[]) {
  return ([totalAlkalinity_umol_kg, offset, dic]: readonly number[]): number[] =>
    used.map(({ acid_g, reading }) => {
      const sample = {
        mass_g: reduced.sample_g,
        totalAlkalinity_umol_kg: totalAlkalinity_umol_kg!,
        // The search may try less than none.
        dic_umol_kg: Math.max(0, dic!),
      };
      return reading - offset! - phFreeAfterAcid(run.chemistry, sample, acid_g, reduced.acid_mol_kg);
    });
}

/**
 * How the alkalinity follows an error of one pH at each point. A reading enters a residual as the offset does, with the
 * sign turned, so that the slope by the offset is at hand.
 */
function influences({ inverseNormal, slopes }: LeastSquaresFit): number[] {
  const byOffset = slopes[1]!;
  return byOffset.map((slope, point) => {
    const perResidual = inverseNormal[0]!.reduce((sum, inverse, place) => sum + inverse * slopes[place]![point]!, 0);
    return perResidual * slope;
  });
}
