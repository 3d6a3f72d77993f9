import { describe, expect, it } from 'vitest';
import { demandEstimate, startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import { compare } from './compare-estimates.ts';
import { tankCases } from './tank-cases.ts';

const dayMs = 86_400_000;
const start = Date.UTC(2026, 2, 2, 19);

/** Ten days of tests at 19:00 in water that loses 1 dKH a day and gets it back in one dose at 20:00. */
function tenDaysAt(level: number) {
  let state = startDemand({ analyte: 'alkalinity' });
  for (let day = 0; day < 10; day++) {
    state = stepDemand(state, { is: 'test', value: level, sd: 0.1 }, start + day * dayMs);
    state = stepDemand(state, { is: 'dose', rise: 1 }, start + day * dayMs + 3_600_000);
  }
  return state;
}

describe('demand against a filter that is told everything', () => {
  // Simulated systems of our own (tests/rules/trend/tank-cases.ts); the rival knows noise, growth, light hours and outliers.
  for (const tank of tankCases) {
    it(`a keeper of "${tank.name}" is not misled about level or demand`, () => {
      const { level, demand, levelHeld, demandHeld } = compare(tank, 3);
      expect(level.filter / level.best).toBeLessThan(1.8);
      expect(demand.filter / demand.best).toBeLessThan(2.2);
      expect(levelHeld).toBeGreaterThan(0.88);
      expect(demandHeld).toBeGreaterThan(0.86);
      expect(level.filter).toBeLessThan(1.15 * level.line);
      expect(demand.filter).toBeLessThan(1.1 * demand.line);
    });
  }
});

describe('a test that does not fit', () => {
  it('a slip of the syringe does not move the level or the demand', () => {
    const before = demandEstimate(tenDaysAt(8), start + 10 * dayMs)!;
    const state = stepDemand(tenDaysAt(8), { is: 'test', value: 6.2, sd: 0.1 }, start + 10 * dayMs);
    const after = demandEstimate(state, start + 10 * dayMs)!;
    expect(after.suspect).toBe(true);
    expect(Math.abs(after.level - before.level)).toBeLessThan(0.6);
    const refuting = stepDemand(state, { is: 'test', value: 8.05, sd: 0.1 }, start + 10 * dayMs + 3_600_000);
    expect(refuting.lastTest!.earlierSuspect).toMatchObject({ value: 6.2, verdict: 'refuted' });
    const settled = demandEstimate(refuting, start + 10 * dayMs + 3_600_000)!;
    expect(settled.suspect).toBe(false);
    expect(settled.level).toBeCloseTo(8, 0);
  });

  it('a real fall is believed at once when the next test confirms it', () => {
    const state = stepDemand(tenDaysAt(8), { is: 'test', value: 6.2, sd: 0.1 }, start + 10 * dayMs);
    const confirming = stepDemand(state, { is: 'test', value: 6.15, sd: 0.1 }, start + 10 * dayMs + 3_600_000);
    expect(confirming.lastTest!.earlierSuspect).toMatchObject({ value: 6.2, verdict: 'confirmed' });
    const moved = demandEstimate(confirming, start + 10 * dayMs + 3_600_000)!;
    expect(moved.suspect).toBe(false);
    expect(Math.abs(moved.level - 6.18)).toBeLessThan(0.15);
  });
});
