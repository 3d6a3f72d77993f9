import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type DemandEvidence,
  type DemandState,
  demandEstimate,
  startDemand,
  stepDemand,
} from '#rules/trend/demand-filter.ts';

const start = Date.UTC(2026, 5, 1, 9);
const hourMs = 3_600_000;

const evidence: fc.Arbitrary<DemandEvidence> = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.record({ is: fc.constant('test' as const), value: fc.double({ min: 0, max: 25, noNaN: true }) }),
  },
  {
    weight: 3,
    arbitrary: fc.record({ is: fc.constant('dose' as const), rise: fc.double({ min: 0, max: 3, noNaN: true }) }),
  },
  fc.record({
    is: fc.constant('water_change' as const),
    share: fc.double({ min: 0, max: 1, noNaN: true }),
    newLevel: fc.double({ min: 4, max: 14, noNaN: true }),
  }),
  fc.constant({ is: 'step_expected' as const }),
);
const diary = fc.array(fc.tuple(evidence, fc.integer({ min: 0, max: 400 })), { maxLength: 30 });

function follow(entries: readonly (readonly [DemandEvidence, number])[], from?: DemandState): DemandState {
  let timeMs = from?.latestMs ?? start;
  let state = from ?? startDemand({ analyte: 'alkalinity' });
  for (const [entry, hours] of entries) {
    timeMs += hours * hourMs;
    state = stepDemand(state, entry, timeMs);
  }
  return state;
}

describe('the demand filter under any diary', () => {
  it('a keeper never sees a level or demand that is not a number, nor an interval of nothing', () => {
    fc.assert(
      fc.property(diary, (entries) => {
        const state = follow(entries);
        const estimate = demandEstimate(state, state.latestMs ?? start);
        expect(estimate === undefined).toBe(!entries.some(([entry]) => entry.is === 'test'));
        if (estimate === undefined) return;
        for (const number of [estimate.level, estimate.demandPerDay]) expect(Number.isFinite(number)).toBe(true);
        expect(estimate.levelSd).toBeGreaterThan(0);
        expect(estimate.demandSd).toBeGreaterThan(0);
        expect(state.hypotheses.reduce((sum, hypothesis) => sum + hypothesis.weight, 0)).toBeCloseTo(1, 9);
      }),
      { numRuns: 60, seed: 11 },
    );
  });

  it('a restart in the middle of the diary changes nothing', () => {
    fc.assert(
      fc.property(diary, diary, (before, after) => {
        const stored = JSON.parse(JSON.stringify(follow(before))) as DemandState;
        expect(follow(after, stored)).toEqual(follow(after, follow(before)));
      }),
      { numRuns: 25, seed: 12 },
    );
  });

  it('a dose split in two small ones counts as the one', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.1, max: 2, noNaN: true }), (rise) => {
        const tested: [DemandEvidence, number] = [{ is: 'test', value: 8 }, 20];
        const once = follow([tested, [{ is: 'dose', rise }, 1], tested]);
        const half: [DemandEvidence, number] = [{ is: 'dose', rise: rise / 2 }, 1];
        const twice = follow([tested, half, [half[0], 0], tested]);
        const [one, two] = [once, twice].map((state) => demandEstimate(state, state.latestMs!)!);
        expect(one!.level).toBeCloseTo(two!.level, 9);
        expect(one!.demandPerDay).toBeCloseTo(two!.demandPerDay, 9);
      }),
      { numRuns: 20, seed: 13 },
    );
  });
});
