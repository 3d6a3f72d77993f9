import { expect, test } from 'vitest';
import { createEstimator } from '#hub/judgement/estimate/estimator.ts';
import { createPastEstimates } from '#hub/judgement/estimate/past-estimates.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import { dayMs, openPaperRoom, paperConfig, startMs } from './paper-room.ts';

const estimate = { level: 8 } as DemandEstimate;

test('the page waits for months of entries to be gone through again, at each look', () => {
  const room = openPaperRoom();
  let reads = 0;
  const journal: typeof room.store.journal = (...asked) => {
    reads += 1;
    return room.store.journal(...asked);
  };
  const nowMs = startMs + 20 * dayMs;
  const store = { ...room.store, journal };
  const estimator = createEstimator({ config: paperConfig, store, now: () => nowMs, units: () => ({}) });
  estimator.refresh('display');
  const [system, atMs] = ['display', startMs + 5 * dayMs] as const;
  const first = estimator.estimateAt(system, 'alkalinity', atMs);
  const before = reads;
  expect(estimator.estimateAt(system, 'alkalinity', atMs)).toEqual(first);
  estimator.estimateAt(system, 'alkalinity', nowMs);
  expect(reads).toBe(before);
  room.close();
});

test('what is entered for a time changes what was known before it, or leaves what was known after it', () => {
  const past = createPastEstimates();
  let worked = 0;
  const work = () => {
    worked += 1;
    return estimate;
  };
  const at = (timeMs: number) => past.at('display', 'alkalinity', timeMs, work);
  for (const timeMs of [100, 200, 100, 200]) expect(at(timeMs)).toBe(estimate);
  expect(worked).toBe(2);
  past.entered('dose', 'display', 150);
  for (const timeMs of [100, 200]) at(timeMs);
  expect(worked).toBe(3);
  // Another tank is another water.
  past.entered('dose', 'frags', 50);
  at(100);
  expect(worked).toBe(3);
  // A test that was corrected may be one of long ago.
  past.entered('test', 'display', 900);
  at(100);
  expect(worked).toBe(4);
});
