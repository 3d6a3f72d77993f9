import { type ReducedRun, refuse, type TitrationRefusal, type TitrationRun } from './titration-run.ts';

/**
 * Two unknowns and two points more to judge the fit by: with so few the interval is twice as wide as the scatter looks (Student's t
 * of two degrees of freedom). With three a chance agreement looks like certainty. Common practice, no published source
 */
export const fewestPoints = 4;

/** A step against the tide of more than this, in pH, is no noise of an electrode. Common practice, no published source. */
const mostReversal_ph = 0.05;

/** Readings that no pH meter shows in acidified seawater. */
const lowestPhShown = 0;
const highestPhShown = 12;

/**
 * What is wrong with a run by its plain look, before any chemistry: too short, amounts that are not running totals,
 * millivolts where pH should be and the reverse, an electrode that goes the wrong way or jumps about.
 *
 * Not seen here, since the numbers do not tell: mL entered as g of an acid whose density is near 1 (2 % too low at most), and
 * an acid of another strength than stated. A strength wrong by a factor of 3 shows later, as an implausible electrode.
 */
export function faultInRun(run: TitrationRun, reduced: ReducedRun): TitrationRefusal | undefined {
  const { points } = reduced;
  if (points.length < fewestPoints) {
    return refuse('too_few_points', `${points.length} points, need at least ${fewestPoints} with pH between 3 and 4.`);
  }
  const unitFault = faultInUnit(run);
  if (unitFault) return unitFault;

  for (let index = 1; index < points.length; index += 1) {
    if (points[index]!.acid_g > points[index - 1]!.acid_g) continue;
    const why = `Point ${index + 1} has no more acid than the one before. Enter the running total, not each addition.`;
    return refuse('acid_not_a_running_total', why);
  }

  const fall = points[0]!.reading - points.at(-1)!.reading;
  if (fall < -mostReversal_ph) {
    const what = run.signal === 'ph' ? 'pH rises' : 'The millivolts fall';
    return refuse(
      'electrode_goes_the_wrong_way',
      `${what} as acid is added. Are the sign or the order of the rows reversed?`,
    );
  }
  let lowest = Number.POSITIVE_INFINITY;
  for (const [index, { reading }] of points.entries()) {
    if (reading > lowest + mostReversal_ph) {
      const by = (reading - lowest).toFixed(2);
      const why = `Point ${index + 1} lies ${by} pH above an earlier one. A slip of the pen, or an electrode not yet settled?`;
      return refuse('not_monotonic', why);
    }
    lowest = Math.min(lowest, reading);
  }
  return undefined;
}

function faultInUnit(run: TitrationRun): TitrationRefusal | undefined {
  const readings = run.points.map(({ reading }) => reading);
  const low = Math.min(...readings);
  const high = Math.max(...readings);
  if (run.signal === 'ph' && (low < lowestPhShown || high > highestPhShown)) {
    const found = `found ${low} to ${high}, need ${lowestPhShown} to ${highestPhShown}`;
    return refuse('looks_like_millivolts', `pH readings: ${found}. Are these millivolts? Then name the column emf_mV.`);
  }
  if (run.signal === 'emf_mV' && low >= lowestPhShown && high <= highestPhShown) {
    const why = `Millivolts: found ${low} to ${high}, which is how pH looks. Then name the column ph_reading.`;
    return refuse('looks_like_ph', why);
  }
  return undefined;
}
