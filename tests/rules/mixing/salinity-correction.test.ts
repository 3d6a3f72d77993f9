import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { correctSalinity, salinityCorrectionByDay } from '#rules/mixing/salinity-correction.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { salinityAfterStep } from './salinity-after-step.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });
const tank = { volumeL: 420, gramsPerLitreAt35: 38.5 };

describe('bringing water to a salinity', () => {
  // By hand: 420 L × 38.5 g/L × (35 - 33)/35 = 924 g.
  it('raises 420 L from 33 to 35 with 924 g of a salt of 38.5 g/L', () => {
    const step = correctSalinity({ ...tank, salinityNow: 33, salinityTarget: 35 });
    expect(step.salt_g).toBeCloseTo(924, 9);
    expect(step.volumeChangeL).toBe(0);
  });

  // By hand: 1 - 35/36.5 = 0.0410959; × 420 L = 17.2603 L out, and as much fresh water in.
  it('lowers 420 L from 36.5 to 35 by taking out 17.26 L for fresh water, and never asks for salt to do it', () => {
    const step = correctSalinity({ ...tank, salinityNow: 36.5, salinityTarget: 35 });
    expect(step.volumeChangeL).toBeCloseTo(-17.2603, 4);
    expect(step.salt_g).toBe(0);
  });

  // By hand: 60 L × 38.5 g/L = 2310 g.
  it('makes a new batch from fresh water', () => {
    expect(
      correctSalinity({ volumeL: 60, gramsPerLitreAt35: 38.5, salinityNow: 0, salinityTarget: 35 }).salt_g,
    ).toBeCloseTo(2310, 9);
  });

  it('leaves water alone that is right', () => {
    expect(correctSalinity({ ...tank, salinityNow: 35, salinityTarget: 35 })).toEqual({ salt_g: 0, volumeChangeL: 0 });
  });

  // By weight, with densities of EOS-80 (UNESCO 44): what the simple rule leaves out, as its description says.
  it('ends within 0.1 of the salinity wanted when the lighter fresh water is weighed', () => {
    const { volumeChangeL } = correctSalinity({
      volumeL: 100,
      gramsPerLitreAt35: 38.5,
      salinityNow: 35,
      salinityTarget: 33,
    });
    const kept_kg = (100 + volumeChangeL) * densityFromSalinityEos80(35, 25);
    const fresh_kg = -volumeChangeL * densityFromSalinityEos80(0, 25);
    expect((35 * kept_kg) / (kept_kg + fresh_kg)).toBeCloseTo(33.05, 2);
  });

  it('leaves the salinity it was asked for, up or down', () => {
    fc.assert(
      fc.property(
        number(1, 5000),
        number(1, 50),
        number(0, 45),
        number(20, 60),
        (volumeL, salinityNow, salinityTarget, gramsPerLitreAt35) => {
          const water = { volumeL, salinityNow, gramsPerLitreAt35 };
          const step = correctSalinity({ ...water, salinityTarget });
          expect(salinityAfterStep(water, step)).toBeCloseTo(salinityTarget, 9);
          expect(step.salt_g === 0 || step.volumeChangeL === 0).toBe(true);
        },
      ),
    );
  });

  // By hand: from 33 to 34.4 at 0.5 a day is three days of 0.4667; 420 × 38.5 × 1.4/35 = 646.8 g in all.
  it('spreads a correction so that no day moves more than the band allows', () => {
    const days = salinityCorrectionByDay({ ...tank, salinityNow: 33, salinityTarget: 34.4 }, 0.5);
    expect(days).toHaveLength(3);
    expect(days.reduce((sum, day) => sum + day.salt_g, 0)).toBeCloseTo(646.8, 6);
    expect(days.map((day) => day.salinityAfter)).toEqual([
      expect.closeTo(33.4667, 4),
      expect.closeTo(33.9333, 4),
      34.4,
    ]);
  });

  it('spreads a fall too, and ends at the target', () => {
    fc.assert(
      fc.property(number(30, 40), number(30, 40), number(0.1, 2), (salinityNow, salinityTarget, mostPerDay) => {
        let salinity = salinityNow;
        for (const day of salinityCorrectionByDay({ ...tank, salinityNow, salinityTarget }, mostPerDay)) {
          const after = salinityAfterStep({ ...tank, salinityNow: salinity }, day);
          expect(Math.abs(after - salinity)).toBeLessThanOrEqual(mostPerDay * (1 + 1e-6));
          expect(after).toBeCloseTo(day.salinityAfter, 9);
          salinity = after;
        }
        expect(salinity).toBeCloseTo(salinityTarget, 9);
      }),
    );
  });

  it('is three days of 0.1 from 33.01 to 33.31, not four for the last digit of a float, and none when all is well', () => {
    expect(salinityCorrectionByDay({ ...tank, salinityNow: 33.01, salinityTarget: 33.31 }, 0.1)).toHaveLength(3);
    expect(salinityCorrectionByDay({ ...tank, salinityNow: 35, salinityTarget: 35 }, 0.5)).toEqual([]);
  });

  it('gives finite amounts or refuses, whatever is typed', () => {
    fc.assert(
      fc.property(
        fc.double(),
        fc.double(),
        fc.double(),
        fc.double(),
        (volumeL, salinityNow, salinityTarget, gramsPerLitreAt35) => {
          try {
            const step = correctSalinity({ volumeL, salinityNow, salinityTarget, gramsPerLitreAt35 });
            expect(Object.values(step).every(Number.isFinite)).toBe(true);
          } catch (error) {
            expect(error).toBeInstanceOf(OutOfRange);
          }
        },
      ),
    );
  });
});
