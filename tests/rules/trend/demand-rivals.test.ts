import { describe, expect, it } from 'vitest';
import { type Comparison, compare } from './compare-estimates.ts';
import type { TankCase } from './simulated-tank.ts';
import { tankCases } from './tank-cases.ts';

// What is allowed is the project's own aim, no published source: how far from the best filter there can be, and 95 % intervals that hold.

describe('demand against a filter that is told everything', () => {
  // Simulated systems of our own (tests/rules/trend/tank-cases.ts); the rival knows noise, growth, light hours and outliers.
  const known = new Map<TankCase, Comparison>();
  const comparisonOf = (tank: TankCase): Comparison => {
    const comparison = known.get(tank) ?? compare(tank, tank.testEvery[1] > 10 ? 10 : 3);
    known.set(tank, comparison);
    return comparison;
  };
  const mean = (numbers: number[]): number => numbers.reduce((sum, number) => sum + number, 0) / numbers.length;

  for (const tank of tankCases) {
    it(`a keeper of "${tank.name}" is not misled about level or demand`, () => {
      const { level, demand, levelHeld, demandHeld } = comparisonOf(tank);
      expect(level.filter / level.best).toBeLessThan(1.6);
      expect(demand.filter / demand.best).toBeLessThan(2);
      expect(levelHeld).toBeGreaterThan(0.88);
      expect(demandHeld).toBeGreaterThan(0.83);
      expect(level.filter).toBeLessThan(1.1 * level.line);
      expect(demand.filter).toBeLessThan(1.1 * demand.line);
    });
  }

  it('over all of them the error is close to the smallest possible, and the intervals hold as often as they say', () => {
    const compared = tankCases.map(comparisonOf);
    expect(mean(compared.map(({ level }) => level.filter / level.best))).toBeLessThan(1.15);
    expect(mean(compared.map(({ demand }) => demand.filter / demand.best))).toBeLessThan(1.4);
    for (const held of ['levelHeld', 'demandHeld'] as const) {
      const share = mean(compared.map((comparison) => comparison[held]));
      expect(share).toBeGreaterThan(0.92);
      expect(share).toBeLessThan(0.98);
    }
  });
});
