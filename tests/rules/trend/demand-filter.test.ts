import { describe, expect, it } from 'vitest';
import { demandEstimate, startDemand, stepDemand } from '#rules/trend/demand-filter.ts';

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

describe('the hour of the test', () => {
  it('tests moved from dawn to dusk do not fake a fall, nor tests at noon and night a swing of demand', () => {
    // By hand: 3 dKH a day, four fifths of it in the light from 08:00 to 20:00, dosed evenly. The level is lowest at dusk:
    // half a day's dose is 1.5, its demand 2.4, so dusk lies 0.9 below dawn, noon halfway between.
    const below = { 8: 0, 14: 0.45, 20: 0.9, 2: 0.45 } as const;
    const learning = [8, 20, 14, 2, 8, 20, 14, 2, 20, 8, 2, 14] as const;
    const hours = [...learning, 8, 8, 8, 8, 8, 8, 20, 20, 20, 20, 14, 2] as const;
    let state = startDemand({ analyte: 'alkalinity' });
    const midnight = Date.UTC(2026, 2, 2);
    const hourMs = 3_600_000;
    const errors: { level: number; demand: number; suspect: boolean }[] = [];
    hours.forEach((hour, day) => {
      for (let at = 0; at < 24; at++) {
        const timeMs = midnight + day * dayMs + at * hourMs;
        if (at === hour) {
          const value = 8.5 - below[hour];
          state = stepDemand(state, { is: 'test', value, sd: 0.05 }, timeMs);
          const { level, demandPerDay, suspect } = demandEstimate(state, timeMs)!;
          if (day >= learning.length) errors.push({ level: level - value, demand: demandPerDay - 3, suspect });
        }
        state = stepDemand(state, { is: 'dose', rise: 3 / 24 }, timeMs);
      }
    });
    for (const { level, demand, suspect } of errors) {
      expect(Math.abs(level)).toBeLessThan(0.1);
      expect(Math.abs(demand)).toBeLessThan(0.15);
      expect(suspect).toBe(false);
    }
  });
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
