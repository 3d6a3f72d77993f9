import { expect, test } from 'vitest';
import { demandOfBatch } from '#hub/judgement/arrivals/demand-watch.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';

const dayMs = 86_400_000;
const arrivedMs = Date.parse('2026-03-02T09:00:00Z');

const estimate = (demandPerDay: number, demandSd: number, testsUsed = 20): DemandEstimate => ({
  ...{ timeMs: arrivedMs, level: 8, levelSd: 0.1, levelDemandCovariance: 0, suspect: false },
  ...{ learnedTestSd: 0.1, learnedGrowthSd: 0.01, demandPerDay, demandSd, testsUsed },
});

/** The sentence after so many days and daily tests, by the use before and after. */
function said(
  before: DemandEstimate | undefined,
  after: DemandEstimate,
  days: number,
  others: string[] = [],
): string | undefined {
  const tests = Array.from({ length: days }, (_, day) => arrivedMs + (day + 0.5) * dayMs);
  const at = (timeMs: number) => (timeMs < arrivedMs ? before : after);
  return demandOfBatch({ arrivedMs }, at, tests, others, arrivedMs + days * dayMs)?.text;
}

test('what a batch added is told without its doubt, or with more digits than are known', () => {
  // The doubts of two independent estimates add by their squares (JCGM 100:2008, 5.1.2): 0.06 and 0.08 make 0.1.
  expect(said(estimate(1, 0.06), estimate(1.3, 0.08), 14)).toBe('This batch added about 0.3 ± 0.1 dKH a day.');
  expect(said(estimate(1, 0.03), estimate(1.3, 0.04), 14)).toBe('This batch added about 0.30 ± 0.05 dKH a day.');
  expect(said(estimate(1, 0.2), estimate(1.1, 0.2), 14)).toMatch(/0\.1 ± 0\.3 dKH a day, which may be nothing\.$/);
});

test('two batches of one fortnight each claim all of the rise', () => {
  expect(said(estimate(1, 0.06), estimate(1.3, 0.08), 14, ['Tuesday frags'])).toBe(
    'This batch together with Tuesday frags added about 0.3 ± 0.1 dKH a day.',
  );
});

test('corals that use less are said to have added something', () => {
  expect(said(estimate(1, 0.06), estimate(0.7, 0.08), 14)).toBe('The use fell by about 0.3 ± 0.1 dKH a day.');
});

test('a rise is told from two tests, or from a use that nobody knew before', () => {
  expect(said(estimate(1, 0.06), estimate(1.3, 0.08), 2)).toMatch(/^Not enough tests yet/);
  expect(said(estimate(1, 0.06, 2), estimate(1.3, 0.08), 14)).toMatch(/^Use before this batch is not known/);
  expect(said(undefined, estimate(1.3, 0.08), 14)).toMatch(/^Use before this batch is not known/);
});

test('the two weeks never end, and later batches are counted to the first', () => {
  const at = (timeMs: number) => estimate(timeMs < arrivedMs ? 1 : timeMs <= arrivedMs + 14 * dayMs ? 1.3 : 9, 0.07);
  const tests = Array.from({ length: 40 }, (_, day) => arrivedMs + (day + 0.5) * dayMs);
  const late = demandOfBatch({ arrivedMs }, at, tests, [], arrivedMs + 40 * dayMs);
  expect(late).toMatchObject({ isOver: true, testsSince: 14 });
  expect(late?.added?.perDay).toBeCloseTo(0.3, 9);
});
