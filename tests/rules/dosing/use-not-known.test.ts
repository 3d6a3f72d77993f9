import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import type { AdviceInput } from '#rules/dosing/advice-types.ts';
import { dayMs, now, withEstimate, withPlan } from './advice-case.ts';

// Before two tests lie apart, use is a guess: nobody doses every day on a guess. common practice, no published source

const noPlan: AdviceInput = { ...withPlan(0), dosedSinceOldestTest: 0 };
const guess = { demandPerDay: 1, demandSd: 2, testsUsed: 2 };
/** @param hoursBefore  of each test, all of the same value */
const advised = (hoursBefore: readonly number[], value: number) => {
  const lastTests = hoursBefore.map((hours) => ({ timeMs: now - (hours * dayMs) / 24, value, sd: 0.1 }));
  return adviseDose({ ...withEstimate({ ...guess, level: value }, noPlan), lastTests });
};

describe('two tests of one sitting', () => {
  test.each([8.9, 8.25, 7.6])('begin a daily dose at %s dKH, for a use that is a guess', (value) => {
    const advice = advised([0.2, 0.1], value);
    expect(advice).toMatchObject({ kind: 'hold_back', plan: [], today: [], dosingNow: 'leave' });
    expect(advice.holdBacks.map(({ rule }) => rule)).toEqual(['use_not_known']);
    expect(advice.reason).toContain('again tomorrow');
    expect(advice.retestAtMs).toBe(now - (0.1 * dayMs) / 24 + dayMs);
  });

  test('keep water that is surely below its band from being led back', () => {
    const { kind, plan, today } = advised([0.2, 0.1], 7.2);
    expect(kind).toBe('dose');
    const inAll = [...plan, ...today].reduce((sum, { risePerDay }) => sum + risePerDay, 0);
    expect(inAll).toBeGreaterThan(0.1);
    expect(inAll).toBeLessThanOrEqual(0.5 + 0.02);
  });
});

test('a use that may be nothing is said as a fact', () => {
  const { kind, reason } = adviseDose(withEstimate({ demandPerDay: 0.4, demandSd: 0.3, level: 7.9 }, noPlan));
  expect(kind).toBe('dose');
  expect(reason).toContain('use 0.40 dKH a day (known only within ± 0.59 dKH)');
  expect(adviseDose(withEstimate({ demandPerDay: 1.3 })).reason).toContain('use 1.30 dKH a day and');
});

test('a hungry tank whose use grew is held back for the doubt in how much', () => {
  const grown = withEstimate({ demandPerDay: 5, demandSd: 1.5, level: 8 }, withPlan(4));
  expect(adviseDose(grown).holdBacks.map(({ rule }) => rule)).not.toContain('use_not_known');
});
