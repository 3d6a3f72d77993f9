import { dayMs } from '#rules/clock/durations.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import {
  type DemandEstimate,
  demandEstimate,
  startDemand,
  stepDemand,
  type TestVerdict,
} from '#rules/trend/demand-filter.ts';
import { demandEvidenceOf, dosedBetween } from '../../../judgement/estimate/known-facts.ts';
import type { DemandReview } from '../../../model/answers/review-schema.ts';
import type { SystemConfig } from '../../../model/config/schema.ts';
import type { Entry } from '../../../model/journal/journal.ts';
import { absent, type Figure, known } from './figure.ts';
import { measureOf, type ReviewSpan } from './review-span.ts';

const sdsFor95Percent = 1.96;
/** Before the second test the filter only repeats what is usual in any tank. */
const leastTests = 2;

/** How the demand filter took the tests of a system, and what it held at each midnight of the week. */
export type FollowedDemand = {
  analyte: DemandAnalyte;
  /** Every test until the end of the week, oldest first. */
  verdicts: TestVerdict[];
  /** At the begin of the week, at each midnight, and at its end; undefined before the second test. */
  atMs: { timeMs: number; estimate: DemandEstimate | undefined }[];
  /** Set when an entry stopped the filter. */
  fault?: string;
};

/** @param entries  of the system, as `readEntries` gives them */
export function followDemand(
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly Entry[],
  span: ReviewSpan,
): FollowedDemand {
  let state = startDemand({ analyte });
  const marks = [span.fromMs, ...span.days.map(({ endMs }) => endMs)];
  const followed: FollowedDemand = { analyte, verdicts: [], atMs: [] };
  const noteUntil = (timeMs: number): void => {
    for (let mark = marks[0]; mark !== undefined && mark <= timeMs; mark = marks[0]) {
      const estimate = state.testsUsed >= leastTests ? demandEstimate(state, mark) : undefined;
      followed.atMs.push({ timeMs: mark, estimate });
      marks.shift();
    }
  };
  try {
    for (const { timeMs, evidence } of demandEvidenceOf(system, analyte, entries, span.asOfMs)) {
      noteUntil(timeMs);
      state = stepDemand(state, evidence, timeMs);
      if (evidence.is === 'test' && state.lastTest !== undefined) followed.verdicts.push(state.lastTest);
    }
    noteUntil(span.asOfMs);
  } catch (error) {
    if (!(error instanceof OutOfRange)) throw error;
    followed.fault = error.message;
  }
  return followed;
}

/** What the corals used, with its interval; undefined for an analyte that is neither tested nor has a band. */
export function demandReview(
  system: SystemConfig,
  followed: FollowedDemand,
  entries: readonly Entry[],
  hasBand: boolean,
  span: ReviewSpan,
): DemandReview | undefined {
  const { analyte, verdicts, atMs, fault } = followed;
  if (verdicts.length === 0 && !hasBand) return undefined;
  const first = atMs[0]?.estimate;
  const last = fault === undefined ? atMs.at(-1)?.estimate : undefined;
  const why = fault ?? tooFew(verdicts.length);
  const figure = (of: (estimate: DemandEstimate) => number): Figure =>
    last === undefined ? absent(why) : known(of(last));
  const days = Math.max(1, span.asOfMs - span.fromMs) / dayMs;
  return {
    ...measureOf(system, system.id, analyte),
    perDay: figure(({ demandPerDay }) => demandPerDay),
    low95: figure(({ demandPerDay, demandSd }) => demandPerDay - sdsFor95Percent * demandSd),
    high95: figure(({ demandPerDay, demandSd }) => demandPerDay + sdsFor95Percent * demandSd),
    change:
      last === undefined
        ? absent(why)
        : first === undefined
          ? absent('fewer than two tests before this week')
          : known(last.demandPerDay - first.demandPerDay),
    dosedPerDay:
      span.days.length === 0
        ? absent('the week has not begun')
        : known(dosedBetween(system, analyte, entries, span.fromMs, span.asOfMs - 1) / days),
    days: atMs.flatMap(({ timeMs, estimate }) =>
      estimate === undefined
        ? []
        : [
            {
              timeMs,
              perDay: estimate.demandPerDay,
              low95: estimate.demandPerDay - sdsFor95Percent * estimate.demandSd,
              high95: estimate.demandPerDay + sdsFor95Percent * estimate.demandSd,
            },
          ],
    ),
  };
}

function tooFew(tests: number): string {
  return tests === 0 ? 'no test yet' : 'one test alone says nothing about the use';
}
