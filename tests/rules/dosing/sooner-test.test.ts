import { describe, expect, it } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { soonerTest } from '#rules/dosing/sooner-test.ts';
import { dayMs, example, now, withEstimate } from './advice-case.ts';

/** The price of a test is our own, no published source; the variances below are worked out by hand. */
const known = { levelSd: 0.1, demandSd: 0.03, levelDemandCovariance: 0, learnedGrowthSd: 0, learnedTestSd: 0.1 };

describe('a test before the usual one', () => {
  it('is asked for although nothing would be learned from it', () => {
    expect(soonerTest(known, 1, 1)).toBeUndefined();
    // 0.1² + (7 × 0.02)² = 0.03: all of it known would be worth less than a test.
    expect(soonerTest({ ...known, demandSd: 0.02 }, 7, 1)).toBeUndefined();
    expect(soonerTest({ ...known, demandSd: 0.3 }, 0.5, 1)).toBeUndefined();
  });

  it('is not asked for although the level drifts unseen for days', () => {
    const sooner = soonerTest({ ...known, demandSd: 0.3 }, 3, 1)!;
    expect(sooner.days).toBeGreaterThanOrEqual(0.5);
    expect(sooner.days).toBeLessThan(3);
    // √(0.1² + (3 × 0.3)²) = 0.906
    expect(sooner.levelSdThen).toBeCloseTo(0.906, 3);
    // A kit that cannot tell the level teaches nothing.
    expect(soonerTest({ ...known, demandSd: 0.3, learnedTestSd: 10 }, 3, 1)).toBeUndefined();
  });

  it('is worth less in a band that is wider', () => {
    expect(soonerTest({ ...known, demandSd: 0.15 }, 4, 1)).toBeDefined();
    expect(soonerTest({ ...known, demandSd: 0.15 }, 4, 4)).toBeUndefined();
  });
});

it('the keeper is not told when, or why, to test sooner than he does', () => {
  const weekly = [28, 21, 14, 7, 0].map((days) => ({ timeMs: now - days * dayMs, value: 8.25, sd: 0.1 }));
  const unsure = { ...withEstimate({ demandSd: 0.25, levelDemandCovariance: 0.005 }), lastTests: weekly };
  const advice = adviseDose(unsure);
  const { days, levelSdThen } = soonerTest(unsure.estimate!, 7, 1)!;
  expect(advice.retestAtMs).toBeLessThanOrEqual(now + days * dayMs);
  expect(advice.retestAtMs).toBeGreaterThan(now);
  expect(advice.reason).toContain('Test sooner than usual');
  expect(advice.reason).toContain(`± ${(1.96 * levelSdThen).toFixed(2)} dKH`);
  const sure = adviseDose({ ...withEstimate({ demandSd: 0.02 }), lastTests: weekly });
  expect(sure.reason).not.toContain('sooner');
  expect(sure.retestAtMs).toBe(now + 7 * dayMs);
  expect(adviseDose(example).reason).not.toContain('sooner');
});
