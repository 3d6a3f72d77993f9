import { describe, expect, test } from 'vitest';
import { type GrowthBelief, growthBeliefs, whenUseReaches } from '#rules/trend/demand-growth.ts';
import { growthCover } from './growth-cover.ts';

/** All cases of the long form: TANKS=1000 npx vitest run tests/rules/trend/demand-growth. */
const tanks = Number(process.env['TANKS'] ?? 12);
const dayMs = 86_400_000;

const sure = (growthShare: number, more: Partial<GrowthBelief> = {}): GrowthBelief => ({
  ...{ weight: 1, growthShare, growthSd: 0, demandPerDay: 1, demandSd: 0, ...more },
});

describe('when a use outgrows what feeds it', () => {
  test('a use that grows by a share a day doubles later or sooner than ln 2 over it', () => {
    // ln 2 / 0.01 = 69.3 days.
    const when = whenUseReaches([sure(0.01)], 2);
    expect(when).toEqual({ likelyDays: 70, low95Days: 70, high95Days: 70, chanceWithin: 1 });
    expect(whenUseReaches([sure(0)], 2)).toEqual({ chanceWithin: 0 });
    expect(whenUseReaches([sure(-0.01)], 0.9).likelyDays).toBe(0);
  });

  test('a use that is known badly has a day that is known well', () => {
    const vague = whenUseReaches([sure(0.01, { demandSd: 0.1 })], 2);
    // 1.96 × 0.1 above and below: ln(2 / 1.196) / 0.01 = 51.4 and ln(2 / 0.804) / 0.01 = 91.1 days.
    expect(vague.low95Days).toBe(52);
    expect(vague.high95Days).toBe(92);
    const either = whenUseReaches([sure(0, { weight: 0.6 }), sure(0.01, { weight: 0.4 })], 2);
    expect(either.likelyDays).toBeUndefined();
    expect(either.chanceWithin).toBeCloseTo(0.4, 9);
    expect(() => whenUseReaches([sure(0)], 0)).toThrow('limit of the use');
  });

  test('growth is told from a handful of tests', () => {
    const diary = Array.from({ length: 7 }, (_, at) => ({
      timeMs: at * dayMs,
      evidence: { is: 'test' as const, value: 8 },
    }));
    expect(growthBeliefs(diary, { analyte: 'alkalinity' })).toEqual([]);
  });

  test('simulated tanks outgrow their pump outside the interval more often than 1 in 20', { timeout: 4e6 }, () => {
    const cover = growthCover(Array.from({ length: tanks }, (_, at) => 1 + at));
    console.log(
      `growth, ${tanks} tanks: 95 % intervals held ${(100 * cover.held).toFixed(1)} %; ${cover.outgrown} outgrew their limit, the likely day off by ${cover.offDays} days in the middle`,
    );
    expect(cover.held).toBeGreaterThanOrEqual(tanks >= 500 ? 0.92 : 0.75);
    expect(cover.held).toBeLessThanOrEqual(tanks >= 500 ? 0.98 : 1);
    expect(cover.outgrown).toBeGreaterThan(tanks / 4);
  });
});
