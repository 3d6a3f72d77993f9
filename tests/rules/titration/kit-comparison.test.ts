import { describe, expect, it } from 'vitest';
import { type KitPair, kitFromPairs } from '#rules/titration/kit-comparison.ts';
import { gaussian, seededRandom } from '../../../hub/demo/seeded-random.ts';

describe('a kit held against a reference', () => {
  // By hand: differences 0.3, 0.5, 0.4: mean 0.4, s = 0.1, s/√3 = 0.0577, t(2) = 4.30.
  it('has its bias and sd by hand', () => {
    const pairs = [8.3, 8.5, 8.4].map((found): KitPair => ({ found, reference: 8, referenceSd: 0, isCommon: true }));
    const kit = kitFromPairs(pairs)!;
    expect(kit.bias.value).toBeCloseTo(0.4, 9);
    expect(kit.bias.sd).toBeCloseTo(0.0577, 4);
    expect(kit.bias.high - kit.bias.value).toBeCloseTo(4.3 * 0.0577, 3);
    expect(kit.sd!.value).toBeCloseTo(0.1, 9);
    // Chi-square of two degrees of freedom has closed points: -2 ln 0.975 and -2 ln 0.025.
    expect(kit.sd!.low).toBeCloseTo(0.1 * Math.sqrt(2 / (-2 * Math.log(0.025))), 4);
    expect(kit.sd!.high).toBeCloseTo(0.1 * Math.sqrt(2 / (-2 * Math.log(0.975))), 2);
  });

  it('is thought perfect after two equal tests, or known from one without a scale', () => {
    const pair = (found: number): KitPair => ({ found, reference: 8, referenceSd: 0.05, isCommon: true });
    const equal = kitFromPairs([pair(8.2), pair(8.2)], { resolution: 0.2, usualSd: 0.15 })!;
    expect(equal.sd!.value).toBeCloseTo(0.2 / Math.sqrt(12), 9);
    expect(equal.weightSd!).toBeGreaterThan(0.1);
    expect(equal.bias.sd).toBeGreaterThan(0.05);
    expect(kitFromPairs([pair(8.2)])).toBeUndefined();
    expect(kitFromPairs([pair(8.2)], { usualSd: 0.15 })).toMatchObject({ sd: undefined, weightSd: 0.15, pairs: 1 });
    expect(() => kitFromPairs([])).toThrow('number of pairs is 0');
    expect(() => kitFromPairs([{ ...pair(8), referenceSd: -1 }])).toThrow('standard uncertainty of the reference');
  });

  it.each([3, 5, 10, 14])(
    'misses bias or sd by more than its 95 %% intervals say, in 1,000 kits held %i times against a titrator',
    (times) => {
      const random = seededRandom(10 + times);
      let [bias, sd, error, errorRaw] = [0, 0, 0, 0];
      for (let kit = 0; kit < 1000; kit += 1) {
        const truth = { bias: 0.4 * gaussian(random), sd: 0.08 + 0.17 * random() };
        const pairs = Array.from({ length: times }, (): KitPair => {
          const there = 7 + 3 * random();
          const reference = there + 0.04 * gaussian(random);
          const read = there + truth.bias + truth.sd * gaussian(random);
          return { found: Math.round(read * 20) / 20, reference, referenceSd: 0.04, isCommon: false };
        });
        const found = kitFromPairs(pairs, { resolution: 0.05, usualSd: 0.15 })!;
        if (truth.bias >= found.bias.low && truth.bias <= found.bias.high) bias += 1;
        if (truth.sd >= found.sd!.low && truth.sd <= found.sd!.high) sd += 1;
        error += (found.bias.value - truth.bias) ** 2 / 1000;
        errorRaw += truth.bias ** 2 / 1000;
      }
      console.log(
        `1,000 kits, ${times} pairs: bias held ${bias / 10} %, sd held ${sd / 10} %, rms of what is left ` +
          `${Math.sqrt(error).toFixed(3)} dKH, uncorrected ${Math.sqrt(errorRaw).toFixed(3)}`,
      );
      expect(bias).toBeGreaterThanOrEqual(920);
      expect(bias).toBeLessThanOrEqual(980);
      expect(sd).toBeGreaterThanOrEqual(920);
      expect(sd).toBeLessThanOrEqual(980);
      expect(Math.sqrt(error)).toBeLessThan(Math.sqrt(errorRaw) / 3);
    },
  );
});
