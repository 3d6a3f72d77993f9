import { expect, it, vi } from 'vitest';
import { patience } from '../../servers/server-process.ts';
import { coverageOf } from './history-coverage.ts';
import { tankCases } from './tank-cases.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience() });

const named = (name: string) => tankCases.find((each) => each.name === name)!;
const seeds = [401, 402];

// A normal distribution has 68.3 and 95.4 in 100 within one and two standard deviations (its tables).
it.each([
  'steady',
  'wandering demand',
  'sparse tests',
  'step that nobody logged',
  'irregular hand dosing',
  'kit sd 0.5',
])('the band around the past of a tank is too narrow or too wide for the truth: %s', (name) => {
  const found = coverageOf(named(name), seeds);
  const shares = [found.levelWithin1, found.levelWithin2, found.demandWithin1, found.demandWithin2];
  console.log(`${name}: level and use within 1 and 2 sd ${shares.map((each) => (100 * each).toFixed(0)).join(' ')} %`);
  expect(found.levelWithin1).toBeGreaterThan(0.5);
  expect(found.levelWithin2).toBeGreaterThan(0.85);
  // No wider than it truly is: the sd that is said is at most half as much again as the error that is made.
  expect(found.sdBetween || found.sdAtTests).toBeLessThan(1.5 * found.errorBetween);
  expect(found.sdAtTests).toBeLessThan(found.sdBetween || Number.POSITIVE_INFINITY);
});

it('a demand that jumps unlogged draws the curve away from the tests beside it', () => {
  const found = coverageOf(named('step that nobody logged'), [100, 101, 102, 103]);
  expect(found.errorBetween).toBeLessThan(0.12);
});
