import { dayMs } from '../clock/durations.ts';
import { type DemandState, demandEstimate, stepDemand } from './demand-filter.ts';
import type { DatedDemandEvidence } from './demand-track.ts';

/** Tests by the new lot that are looked at, and for how long: later the forecast says little. Common practice, no published source */
const mostTests = 3;
const within_ms = 14 * dayMs;
/** Fewer tests before it, and nothing is known of the water. Common practice, no published source */
const fewestBefore = 4;
/** Beyond so many standard deviations it is said: of 100 lots that agree one is accused. @source normal distribution, 1 % two-sided */
const said_sd = 2.58;

/** How far the first tests by a new lot lie from what the tests before it foretell. */
export type LotStep = {
  step: number;
  sd: number;
  tests: number;
  /** True when the lots disagree, or the water did what no test before could tell. */
  isSaid: boolean;
};

/**
 * Whether a new lot of a kit reads otherwise than the one before: a change point at a known time in the residuals of the demand
 * filter. The filter is carried on from the last test of the old lot by doses and water changes alone, so that a step of the new lot
 * cannot pull the forecast after it.
 *
 * @param diary      of one system and analyte, oldest first
 * @param before     the filter after the tests of the old lot, as `stateBefore` gives it
 * @param openedMs   from which time on tests are by the new lot
 * @param lotSd      standard deviation of one test by the new lot
 * @returns undefined while there are too few tests before it, or none after
 */
export function lotStep(
  diary: readonly DatedDemandEvidence[],
  before: DemandState,
  openedMs: number,
  lotSd: number,
): LotStep | undefined {
  if (before.testsUsed < fewestBefore) return undefined;
  let state = before;
  const differences: { by: number; forecastSd: number }[] = [];
  for (const { timeMs, evidence } of diary) {
    if (timeMs < openedMs || timeMs > openedMs + within_ms || differences.length >= mostTests) continue;
    if (evidence.is !== 'test') {
      state = stepDemand(state, evidence, timeMs);
      continue;
    }
    const expected = demandEstimate(state, timeMs);
    if (expected === undefined) return undefined;
    differences.push({ by: evidence.value - expected.level, forecastSd: expected.levelSd });
  }
  if (differences.length === 0) return undefined;
  // As many of them as tell it best: further tests lessen the lot's scatter, and lean on a forecast that spreads.
  const steps = differences.map((_, at) => stepOf(differences.slice(0, at + 1), lotSd));
  return steps.reduce((best, each) => (each.sd < best.sd ? each : best));
}

function stepOf(differences: readonly { by: number; forecastSd: number }[], lotSd: number): LotStep {
  const tests = differences.length;
  const weights = differences.map(({ forecastSd }) => 1 / (forecastSd ** 2 + lotSd ** 2));
  const whole = weights.reduce((sum, weight) => sum + weight, 0);
  const mean = (of: (at: number) => number) => weights.reduce((sum, weight, at) => sum + weight * of(at), 0) / whole;
  const step = mean((at) => differences[at]!.by);
  // One forecast for all of them: its error is much the same in each, the lot's is another each time.
  const forecastSd = mean((at) => differences[at]!.forecastSd);
  const sd = Math.hypot(forecastSd, (lotSd * Math.hypot(...weights)) / whole);
  return { step, sd, tests, isSaid: Math.abs(step) > said_sd * sd };
}
