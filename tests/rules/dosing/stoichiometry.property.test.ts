import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type RiseQuantity, riseFromDose } from '#rules/dosing/stoichiometry.ts';
import { substanceIds } from '#rules/dosing/substance.ts';
import { substances } from '#rules/dosing/substances.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

const substance = fc.constantFrom(...substanceIds).map((id) => substances[id]);
const grams = fc.double({ min: 1e-3, max: 1e5, noNaN: true });
const volumeL = fc.double({ min: 1, max: 1e5, noNaN: true });
const quantities: RiseQuantity[] = [
  'alkalinity_dKH',
  'alkalinity_meq_L',
  'calcium_mg_L',
  'magnesium_mg_L',
  'potassium_mg_L',
  'iodide_ug_L',
  'nitrate_mg_L',
  'phosphate_mg_L',
];

describe('doses', () => {
  it('gives the same water from two half doses as from the whole', () => {
    fc.assert(
      fc.property(substance, grams, volumeL, (salt, dose, volume) => {
        const whole = riseFromDose(salt, dose, volume);
        const half = riseFromDose(salt, dose / 2, volume);
        for (const quantity of quantities) expect(2 * half[quantity]).toBeCloseTo(whole[quantity], 9);
      }),
    );
  });

  it('never gives a number that is no number: any input gives finite rises or is refused', () => {
    fc.assert(
      fc.property(substance, fc.double(), fc.double(), (salt, dose, volume) => {
        try {
          for (const rise of Object.values(riseFromDose(salt, dose, volume))) expect(rise).toSatisfy(Number.isFinite);
        } catch (error) {
          expect(error).toBeInstanceOf(OutOfRange);
        }
      }),
    );
  });
});
