import { expect, test } from 'vitest';
import { levelEvidence } from '#hub/judgement/estimate/level-evidence.ts';
import { type DemandEstimate, demandEstimate, startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import { forecastLevel } from '#rules/trend/forecast.ts';
import { seededRandom } from '../../../rules/trend/seeded-random.ts';
import { dayMs, paperConfig, startMs } from './paper-room.ts';

// The chance is checked against draws from the estimate's own spread (Monte Carlo); the rest is the hub's own rule.

const system = { ...paperConfig.systems[0]!, bands: { alkalinity: { low: 7.5, high: 9 } } };

function after(tests: readonly number[]): DemandEstimate {
  let state = startDemand({ analyte: 'alkalinity' });
  for (const [day, value] of tests.entries()) state = stepDemand(state, { is: 'test', value }, startMs + day * dayMs);
  return demandEstimate(state, startMs + (tests.length - 1) * dayMs)!;
}

function forecastOf(estimate: DemandEstimate) {
  const found = levelEvidence(system, 'alkalinity', estimate, 0, estimate.timeMs).find(({ is }) => is === 'forecast');
  if (found?.is !== 'forecast') throw new Error('no forecast');
  return found;
}

test('a fresh hub with one test forecasts what it cannot know', () => {
  const estimate = after([8.1]);
  // All that makes this "94 in 100" is what any tank may use, on both sides, over seven days.
  const { chanceToLeave } = forecastLevel(estimate, { risePerDay: 0 }, system.bands.alkalinity);
  expect(chanceToLeave).toBeGreaterThan(0.8);
  expect(forecastOf(estimate)).toMatchObject({ probability: 0 });
  expect(forecastOf(estimate)).not.toHaveProperty('hoursToLeave');
});

test('the chance that is said is not that of the side and the time that are said', () => {
  const estimate = after([8.6, 8.5, 8.4, 8.3, 8.2, 8.1, 8]);
  const { side, hoursToLeave, probability } = forecastOf(estimate);
  expect(side).toBe('low');
  // 0.1 a day from 8.0 reaches 7.5 after five days.
  expect(hoursToLeave! / 24).toBeGreaterThan(3);
  expect(hoursToLeave! / 24).toBeLessThan(7);

  const random = seededRandom(12);
  const days = hoursToLeave! / 24;
  const slope = estimate.levelDemandCovariance / estimate.levelSd ** 2;
  const restSd = Math.sqrt(Math.max(0, estimate.demandSd ** 2 - slope ** 2 * estimate.levelSd ** 2));
  let below = 0;
  const draws = 20_000;
  for (let draw = 0; draw < draws; draw += 1) {
    const off = estimate.levelSd * random.gaussian();
    let level = estimate.level + off;
    let demand = estimate.demandPerDay + slope * off + restSd * random.gaussian();
    const growth = (estimate.growthShare ?? 0) + (estimate.growthShareSd ?? 0) * random.gaussian();
    const steps = 50;
    for (let step = 0; step < steps; step += 1) {
      level -= (demand * days) / steps;
      demand += (Math.max(0, estimate.demandPerDay) * growth * days) / steps;
      demand += estimate.learnedGrowthSd * Math.sqrt(days / steps) * random.gaussian();
    }
    if (level < 7.5) below += 1;
  }
  expect(Math.abs(below / draws - probability)).toBeLessThan(0.03);
});
