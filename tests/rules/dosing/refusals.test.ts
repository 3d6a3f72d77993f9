import { describe, test } from 'vitest';
import { strengthOf } from '#rules/dosing/advice-product.ts';
import { effectOfDose, largestAdditionWithin } from '#rules/dosing/effect-of-dose.ts';
import { salinityFromDose } from '#rules/dosing/salinity-from-dose.ts';
import { stockSolution } from '#rules/dosing/stock-solution.ts';
import { riseFromDose } from '#rules/dosing/stoichiometry.ts';
import { substances } from '#rules/dosing/substances.ts';
import { type Asked, expectLimits } from '../refusal-of.ts';

/** Limits that leave the highest pH alone to decide. */
const phAlone = { mostPhRise: 9, highestOmegaAragonite: 1e6 };

const soda = substances.sodium_carbonate;
// The most soluble of the table, so that the highest recipe is allowed too.
const iodide = substances.potassium_iodide;
const reef = { salinity: 35, temperature_C: 25, startTotalAlkalinity_umol_kg: 2300, startPhTotal: 8.1 };
const limit = { ...phAlone, highestPhTotal: 8.3, mostAddedAlkalinity_umol_kg: 300 };
const carbonate = { ...reef, addition: 'carbonate' } as const;
const product = (made: Parameters<typeof strengthOf>[0]['made']) => ({ id: 'p', name: 'P', made });
const weighed = product({ of: 'sodium_carbonate' });

/** The limits are those of the docstrings; where those name no source, common practice, no published source. */
const asked: Asked[] = [
  [
    'alkalinity added to water',
    (value) => effectOfDose({ ...reef, addition: 'bicarbonate', addedAlkalinity_umol_kg: value }),
    ...(['added alkalinity, µmol/kg', 0, 5000] as const),
  ],
  [
    'pH that a dose may reach',
    (value) => largestAdditionWithin(carbonate, { ...limit, highestPhTotal: value }),
    ...(['highest pH', 7, 9.5] as const),
  ],
  [
    'most alkalinity asked for',
    (value) => largestAdditionWithin(carbonate, { ...limit, mostAddedAlkalinity_umol_kg: value }),
    ...(['most added alkalinity, µmol/kg', 0, 5000] as const),
  ],
  ['weighed dose', (value) => riseFromDose(soda, value, 100), 'dose, g', 0, 1e6],
  ['volume dosed into', (value) => riseFromDose(soda, 1, value), 'volume, L', 0.001, 1e7],
  ['salt dosed', (value) => salinityFromDose(soda, value, 100, 1), 'dose, g', 0, 1e6],
  ['volume salted', (value) => salinityFromDose(soda, 1, value, 1), 'volume, L', 0.001, 1e7],
  ['density of the water', (value) => salinityFromDose(soda, 1, 100, value), 'density, kg/L', 0.9, 1.2],
  ['recipe', (value) => stockSolution(iodide, value), 'recipe, g/L', 0.001, 2000],
  ['volume of a system', (value) => strengthOf(weighed, 'alkalinity', value), 'volume, L', 0.001, 1e7],
  [
    'strength on a label',
    (raises100LByPerMl) =>
      strengthOf(product({ of: 'own_strength', raises: 'alkalinity', raises100LByPerMl }), 'alkalinity', 100),
    ...(['rise of 100 L by a millilitre', 1e-9, 1e6] as const),
  ],
  [
    'recipe of a product',
    (gramsPerLitre) => strengthOf(product({ of: 'sodium_carbonate', gramsPerLitre }), 'alkalinity', 100),
    ...(['grams in a litre', 1e-6, 5000] as const),
  ],
];

describe('a number that no dose can be worked out from', () => {
  test.each(asked)('%s: what is beyond the limits is worked with, or refused without a word why', (...each) => {
    expectLimits(each);
  });
});
