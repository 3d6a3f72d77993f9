import { metricDefaults } from '#rules/bands/metric-defaults.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { type Analyte, analytes } from '#rules/quantity/metric.ts';
import { demandFacts } from '#rules/trend/demand-facts.ts';
import { factorToCommonSalinity, type SalinityThen } from '../../../judgement/estimate/past-salinity.ts';
import type { TestReview } from '../../../model/answers/review-schema.ts';
import type { SystemConfig } from '../../../model/config/schema.ts';
import type { Entry } from '../../../model/journal/journal.ts';
import type { FollowedDemand } from './demand-of-week.ts';
import { absent, type Figure, known } from './figure.ts';
import { measureOf, type ReviewSpan } from './review-span.ts';
import type { BandOfWeek } from './series-review.ts';

/** Days between two tests: as the keeper asks, else what is usual for an analyte with a band; undefined where none is expected. */
export function testEveryDays(system: SystemConfig, analyte: Analyte, hasBand: boolean): number | undefined {
  return system.test_every_days[analyte] ?? (hasBand ? metricDefaults[analyte].testEveryDays : undefined);
}

/**
 * The tests of a system, how good they were and which are missing. Left out: an analyte without a test that nobody expects.
 *
 * @param tests     entries of kind `test` of the system up to the end of the week, oldest first
 * @param followed  of the analytes that the demand filter follows
 * @param salinityThen  of the system's water
 * @param isProbed  true for an analyte that a probe measured in the week: no test of it is expected unless the keeper asks
 */
export function testsOfWeek(
  system: SystemConfig,
  tests: readonly Entry<'test'>[],
  followed: readonly FollowedDemand[],
  bands: Partial<Record<Analyte, BandOfWeek>>,
  isProbed: (analyte: Analyte) => boolean,
  span: ReviewSpan,
  salinityThen: SalinityThen,
): TestReview[] {
  return analytes.flatMap((analyte) => {
    const all = tests.filter(({ body }) => body.analyte === analyte);
    const inWeek = all.filter(({ timeMs }) => timeMs >= span.fromMs && timeMs < span.asOfMs);
    const band = bands[analyte];
    const asked = system.test_every_days[analyte];
    const every = asked ?? (isProbed(analyte) ? undefined : testEveryDays(system, analyte, band !== undefined));
    if (inWeek.length === 0 && every === undefined) return [];
    const follow = followed.find((each) => each.analyte === analyte);
    return [
      {
        ...measureOf(system, system.id, analyte),
        done: inWeek.length,
        ...expectedOf(every, inWeek.length, span),
        ...qualityOf(inWeek, follow, salinityThen),
        ...shareOf(inWeek, band),
        band: band === undefined ? null : { low: band.low, high: band.high },
        lastMs: all.at(-1)?.timeMs ?? null,
      },
    ];
  });
}

/** As many as whole intervals fit into the week so far: with a test due every 14 days none is missing in one week. */
function expectedOf(
  every: number | undefined,
  done: number,
  span: ReviewSpan,
): Pick<TestReview, 'expected' | 'missing'> {
  if (every === undefined) {
    const why = 'no interval between tests is set';
    return { expected: absent(why), missing: absent(why) };
  }
  // By dates: a week of 167 or 169 hours has seven days all the same.
  const days = span.isOver ? 7 : Math.floor((span.asOfMs - span.fromMs) / dayMs);
  const expected = Math.floor(days / every);
  if (expected === 0) {
    const why = `one is due every ${every} days, longer than this week so far`;
    return { expected: absent(why), missing: absent(why) };
  }
  return { expected: known(expected), missing: known(Math.max(0, expected - done)) };
}

type Quality = Pick<TestReview, 'outliers' | 'inDoubt' | 'uncertainty' | 'uncertaintyBy' | 'tests'>;

function qualityOf(
  inWeek: readonly Entry<'test'>[],
  follow: FollowedDemand | undefined,
  salinityThen: SalinityThen,
): Quality {
  const verdictOf = (timeMs: number, value: number): TestReview['tests'][number]['verdict'] => {
    if (follow === undefined) return 'not_judged';
    const later = follow.verdicts.map(({ earlierSuspect }) => earlierSuspect);
    const decided = later.find((each) => each?.timeMs === timeMs && each.value === value);
    if (decided !== undefined) return decided.verdict === 'refuted' ? 'refuted' : 'sound';
    const own = follow.verdicts.find((each) => each.timeMs === timeMs && each.value === value);
    if (own === undefined) return 'not_judged';
    return own.isSuspect ? 'in_doubt' : 'sound';
  };
  const tests = inWeek.map(({ timeMs, body }) => {
    const { value, sd = null } = body;
    const factor = factorToCommonSalinity(body.analyte, timeMs, salinityThen);
    const valueAt35 = factor === undefined ? null : value * factor;
    return { timeMs, value, sd, valueAt35, verdict: verdictOf(timeMs, value) };
  });
  const count = (verdict: string): Figure =>
    inWeek.length === 0
      ? absent('no test this week')
      : follow === undefined
        ? absent(`only ${Object.keys(demandFacts).join(', ')} are followed from test to test`)
        : known(tests.filter((each) => each.verdict === verdict).length);
  return { tests, outliers: count('refuted'), inDoubt: count('in_doubt'), ...uncertaintyOf(tests, follow) };
}

function uncertaintyOf(
  tests: TestReview['tests'],
  follow: FollowedDemand | undefined,
): Pick<TestReview, 'uncertainty' | 'uncertaintyBy'> {
  const stated = tests.flatMap(({ sd }) => (sd === null ? [] : [sd]));
  if (stated.length > 0) {
    // The root of the mean square: variances add, standard uncertainties do not.
    const meanSquare = stated.reduce((sum, sd) => sum + sd * sd, 0) / stated.length;
    return { uncertainty: known(Math.sqrt(meanSquare)), uncertaintyBy: 'stated' };
  }
  const learned = tests.length === 0 ? undefined : follow?.atMs.at(-1)?.estimate?.learnedTestSd;
  return learned === undefined
    ? { uncertainty: absent('no test states it, and there are too few to learn it from'), uncertaintyBy: 'none' }
    : { uncertainty: known(learned), uncertaintyBy: 'learned' };
}

function shareOf(inWeek: readonly Entry<'test'>[], band: BandOfWeek | undefined): Pick<TestReview, 'shareInBand'> {
  if (band === undefined) return { shareInBand: absent('no band is set') };
  if (inWeek.length === 0) return { shareInBand: absent('no test this week') };
  const inside = inWeek.filter(({ body: { value } }) => value >= band.low && value <= band.high);
  return { shareInBand: known(inside.length / inWeek.length) };
}
