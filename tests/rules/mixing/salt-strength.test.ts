import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { saltForBatch, saltStrengthFromBatches } from '#rules/mixing/salt-strength.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });

describe("the strength of a salt from the keeper's own batches", () => {
  // By hand: 2000 g in 50 L is 40 g/L and gave 36: 40 × 35/36 = 38.8889 g/L at 35; 0.36 of 36 is 1 %: 0.388889 g/L.
  it('takes one batch at its word, with the doubt of its measurement', () => {
    const strength = saltStrengthFromBatches([{ volumeL: 50, salt_g: 2000, salinity: 36, salinitySd: 0.36 }]);
    expect(strength.gramsPerLitreAt35).toBeCloseTo(38.8889, 4);
    expect(strength.sd_g_L).toBeCloseTo(0.388889, 5);
    expect(strength.residuals[0]).toBeCloseTo(0, 12);
  });

  // By hand: 40 g/L gave 35 and 36: slope (40×35 + 40×36)/(2×1600) = 0.8875, so 39.4366 g/L. Residuals ∓0.5; stated 0.1 each:
  // χ² = 50 against 1, so the sd of the slope is 0.1 × √50 / √3200 = 0.0125; relative 0.0140845; × 39.4366 = 0.555445.
  it('believes the scatter of batches where it is larger than their stated uncertainty', () => {
    const strength = saltStrengthFromBatches([
      { volumeL: 50, salt_g: 2000, salinity: 35, salinitySd: 0.1 },
      { volumeL: 50, salt_g: 2000, salinity: 36, salinitySd: 0.1 },
    ]);
    expect(strength.gramsPerLitreAt35).toBeCloseTo(39.4366, 4);
    expect(strength.residuals).toEqual([expect.closeTo(-0.5, 12), expect.closeTo(0.5, 12)]);
    expect(strength.sd_g_L).toBeCloseTo(0.555445, 5);
  });

  it('finds the strength that made the batches, whatever their sizes', () => {
    const batch = fc.record({ volumeL: number(5, 1000), grams_L: number(30, 45), salinitySd: number(0.05, 1) });
    fc.assert(
      fc.property(fc.array(batch, { minLength: 1, maxLength: 8 }), number(33, 42), (batches, truth) => {
        const strength = saltStrengthFromBatches(
          batches.map(({ volumeL, grams_L, salinitySd }) => ({
            volumeL,
            salt_g: grams_L * volumeL,
            salinity: (35 * grams_L) / truth,
            salinitySd,
          })),
        );
        expect(strength.gramsPerLitreAt35).toBeCloseTo(truth, 9);
      }),
    );
  });

  it('is surer after more batches of the same kind', () => {
    const batch = { volumeL: 50, salt_g: 1950, salinity: 35, salinitySd: 0.3 };
    const one = saltStrengthFromBatches([batch]);
    const four = saltStrengthFromBatches([batch, batch, batch, batch]);
    expect(four.sd_g_L).toBeCloseTo(one.sd_g_L / 2, 9);
  });

  // By hand: 60 L × 38.5 = 2310 g; 0.385 g/L of 38.5 is 1 %: 0.35 of salinity 35.
  it('says how far off a batch may come out', () => {
    const batch = saltForBatch(60, 35, { gramsPerLitreAt35: 38.5, sd_g_L: 0.385 });
    expect(batch.salt_g).toBeCloseTo(2310, 9);
    expect(batch.salinitySd).toBeCloseTo(0.35, 9);
  });

  it('refuses to fit nothing, and a batch of 2 kg in a glass', () => {
    expect(() => saltStrengthFromBatches([])).toThrow(OutOfRange);
    expect(() => saltStrengthFromBatches([{ volumeL: 0.2, salt_g: 2000, salinity: 35, salinitySd: 0.3 }])).toThrow(
      OutOfRange,
    );
    expect(() => saltForBatch(60, Number.NaN, { gramsPerLitreAt35: 38.5, sd_g_L: 0 })).toThrow(OutOfRange);
  });

  it('gives finite numbers or refuses, whatever is typed', () => {
    const anyBatch = fc.record({
      volumeL: fc.double(),
      salt_g: fc.double(),
      salinity: fc.double(),
      salinitySd: fc.double(),
    });
    fc.assert(
      fc.property(fc.array(anyBatch, { maxLength: 4 }), (batches) => {
        try {
          const { gramsPerLitreAt35, sd_g_L } = saltStrengthFromBatches(batches);
          expect(Number.isFinite(gramsPerLitreAt35) && Number.isFinite(sd_g_L)).toBe(true);
        } catch (error) {
          expect(error).toBeInstanceOf(OutOfRange);
        }
      }),
    );
  });
});
