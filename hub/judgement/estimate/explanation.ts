import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import type { DemandAnalyte } from '#rules/trend/demand-facts.ts';
import {
  type DemandEstimate,
  type DemandState,
  demandEstimate,
  startDemand,
  stepDemand,
  type TestVerdict,
} from '#rules/trend/demand-filter.ts';
import { demandHistory, type HistoryPoint } from '#rules/trend/demand-history.ts';
import { type Forecast, forecastLevel } from '#rules/trend/forecast.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { type Entry, ofKind } from '../../model/journal/journal.ts';
import { currentRisePerDay, type DatedEvidence, demandEvidenceOf } from './known-facts.ts';
import { factorToCommonSalinity, pastSalinity, type SalinityThen } from './past-salinity.ts';

/** A test as the filter took it. */
export type WeighedTest = TestVerdict & {
  /** The rise by all doses since the test before. */
  dosedBefore: number;
  /** Level and demand after it, with their standard deviations. */
  after: Pick<DemandEstimate, 'level' | 'levelSd' | 'demandPerDay' | 'demandSd'>;
  /** The value at salinity 35; absent where nobody measured the salinity of that day. */
  valueAt35?: number;
  words: string;
};

export type Explanation = {
  analyte: DemandAnalyte;
  estimate: DemandEstimate | null;
  tests: WeighedTest[];
  /** The past as it looks from today. */
  history: HistoryPoint[];
  /** The week to come under the dosing of today; absent without a band or an estimate. */
  forecast: Forecast | null;
};

const day = (ms: number): string => new Date(ms).toISOString().slice(0, 16).replace('T', ' ');

function wordsFor(
  analyte: DemandAnalyte,
  test: TestVerdict,
  dosedBefore: number,
  after: WeighedTest['after'],
  valueAt35: number | undefined,
  isBelow: boolean,
): string {
  const decimals = Math.max(2, metricFacts[analyte].decimals);
  const at35 = valueAt35 === undefined ? '' : ` (${valueAt35.toFixed(decimals)} at salinity 35)`;
  const expected = test.value - test.innovation;
  const part = test.isSuspect
    ? 'held as suspect until the next test'
    : `taken with a chance of ${Math.round(100 * test.chancePlain)} in 100 that it is sound`;
  return (
    `${day(test.timeMs)} UTC: tested ${isBelow ? `below ${test.value}` : test.value}${at35}, expected ${expected.toFixed(decimals)} ± ${test.innovationSd.toFixed(decimals)} ` +
    `(doses since the test before raised it by ${dosedBefore.toFixed(decimals)}); ${part}. ` +
    `Then level ${after.level.toFixed(decimals)} ± ${after.levelSd.toFixed(decimals)}, use ${after.demandPerDay.toFixed(decimals)} ± ${after.demandSd.toFixed(decimals)} a day.`
  );
}

/** Each test with what the filter expected of it and made of it, from the first to the last. */
function weighedTests(
  analyte: DemandAnalyte,
  evidence: readonly DatedEvidence[],
  then: SalinityThen,
): { tests: WeighedTest[]; state: DemandState } {
  let state = startDemand({ analyte });
  let dosedBefore = 0;
  const tests: WeighedTest[] = [];
  for (const { timeMs, evidence: each } of evidence) {
    state = stepDemand(state, each, timeMs);
    if (each.is === 'dose') dosedBefore += each.rise;
    const estimate = each.is === 'test' ? demandEstimate(state, timeMs) : undefined;
    if (estimate === undefined || state.lastTest === undefined) continue;
    const { level, levelSd, demandPerDay, demandSd } = estimate;
    const after = { level, levelSd, demandPerDay, demandSd };
    const factor = factorToCommonSalinity(analyte, timeMs, then);
    const valueAt35 = factor === undefined ? undefined : state.lastTest.value * factor;
    const words = wordsFor(
      analyte,
      state.lastTest,
      dosedBefore,
      after,
      valueAt35,
      each.is === 'test' && each.isBelow === true,
    );
    tests.push({ ...state.lastTest, dosedBefore, after, words, ...defined({ valueAt35 }) });
    dosedBefore = 0;
  }
  return { tests, state };
}

/** The working of an estimate, for the page and for whoever doubts it. */
export function explanationOf(
  store: Pick<Store, 'series' | 'summaries'>,
  system: SystemConfig,
  analyte: DemandAnalyte,
  entries: readonly Entry[],
  nowMs: number,
): Explanation {
  const evidence = demandEvidenceOf(system, analyte, entries, nowMs);
  const { tests, state } = weighedTests(
    analyte,
    evidence,
    pastSalinity(store, system.id, ofKind(entries, 'test'), evidence[0]?.timeMs ?? nowMs, nowMs),
  );
  const estimate = demandEstimate(state, nowMs) ?? null;
  const band = system.bands[analyte];
  const risePerDay = currentRisePerDay(system, analyte, entries, nowMs);
  return {
    analyte,
    estimate,
    tests,
    history: demandHistory(evidence, { analyte }, dayMs / 4, nowMs),
    forecast: estimate === null || band === undefined ? null : forecastLevel(estimate, { risePerDay }, band),
  };
}
