import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { afterWaterChange, type MixedWater, mix, mixedMetrics, shareReplaced } from '#rules/mixing/mixed-water.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const water: fc.Arbitrary<Required<MixedWater>> = fc.record(
  Object.fromEntries(mixedMetrics.map((metric) => [metric, number(0, 2000)])) as Record<
    (typeof mixedMetrics)[number],
    fc.Arbitrary<number>
  >,
);

describe('mixed waters', () => {
  // By hand: 40 of 400 L is a tenth: nitrate 0.9 × 20 + 0.1 × 0 = 18; alkalinity 0.9 × 8 + 0.1 × 11 = 8.3.
  it('lowers nitrate by a tenth and lifts alkalinity by 0.3 dKH with a tenth of the water', () => {
    const after = afterWaterChange({ nitrate: 20, alkalinity: 8 }, 400, { nitrate: 0, alkalinity: 11 }, 40);
    expect(after).toEqual({ nitrate: expect.closeTo(18, 12), alkalinity: expect.closeTo(8.3, 12) });
  });

  // By hand: half a volume through a stirred tank replaces 1 - exp(-0.5) = 0.393469 of it.
  it('changes less when new water runs in while old runs out', () => {
    expect(shareReplaced(400, 200, 'continuous')).toBeCloseTo(0.393469, 6);
    expect(shareReplaced(400, 200, 'drain_then_fill')).toBe(0.5);
  });

  it('does not take what was never tested for nothing', () => {
    expect(afterWaterChange({ nitrate: 20, calcium: 420 }, 100, { calcium: 400 }, 10)).toEqual({ calcium: 418 });
  });

  it('keeps every gram: what is in the mixture is what was in both waters', () => {
    fc.assert(
      fc.property(water, water, number(0.1, 5000), number(0.1, 5000), (one, other, oneL, otherL) => {
        const mixture = mix(one, oneL, other, otherL);
        for (const metric of mixedMetrics) {
          const before = one[metric] * oneL + other[metric] * otherL;
          expect(Math.abs(mixture[metric]! * (oneL + otherL) - before)).toBeLessThanOrEqual(1e-12 * before + 1e-9);
        }
      }),
    );
  });

  it('gives the same mixture whichever water is poured first', () => {
    fc.assert(
      fc.property(water, water, number(0.1, 5000), number(0.1, 5000), (one, other, oneL, otherL) => {
        const [there, back] = [mix(one, oneL, other, otherL), mix(other, otherL, one, oneL)];
        for (const metric of mixedMetrics) expect(there[metric]).toBeCloseTo(back[metric]!, 9);
      }),
    );
  });

  it('gives finite numbers or refuses, whatever is typed', () => {
    fc.assert(
      fc.property(fc.double(), fc.double(), fc.double(), fc.double(), (salinity, incoming, volumeL, litres) => {
        for (const method of ['drain_then_fill', 'continuous'] as const) {
          try {
            const after = afterWaterChange({ salinity }, volumeL, { salinity: incoming }, litres, method);
            expect(after.salinity).toSatisfy(Number.isFinite);
          } catch (error) {
            expect(error).toBeInstanceOf(OutOfRange);
          }
        }
      }),
    );
    expect(() => afterWaterChange({}, 100, {}, 101)).toThrow(OutOfRange);
    expect(() => mix({}, 0, {}, 0)).toThrow(OutOfRange);
  });
});
