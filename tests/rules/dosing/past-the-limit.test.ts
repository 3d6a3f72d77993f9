import { expect, test } from 'vitest';
import { effectOfDose, largestAdditionWithin } from '#rules/dosing/effect-of-dose.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

/** Limits that leave the highest pH alone to decide. */
const phAlone = { mostPhRise: 9, highestOmegaAragonite: 1e6 };

const water = { salinity: 35, temperature_C: 25, startTotalAlkalinity_umol_kg: 2300 };

test('water that is past the pH limit is given more, of bicarbonate too, which would lower it', () => {
  const limit = { ...phAlone, highestPhTotal: 8.3, mostAddedAlkalinity_umol_kg: 300 };
  for (const addition of ['bicarbonate', 'carbonate', 'hydroxide'] as const)
    expect([addition, largestAdditionWithin({ ...water, addition, startPhTotal: 8.4 }, limit)]).toEqual([addition, 0]);
});

test('a dose so large that the carbonate system gives no number is taken for one below the limit', () => {
  const limit = { ...phAlone, highestPhTotal: 8.5, mostAddedAlkalinity_umol_kg: 5000 };
  const most = largestAdditionWithin({ ...water, addition: 'hydroxide', startPhTotal: 8.1 }, limit);
  expect(most).toBeGreaterThan(50);
  expect(most).toBeLessThan(1000);
});

test('water that the carbonate system says nothing about is given a dose', () => {
  const limit = { ...phAlone, highestPhTotal: 8.3, mostAddedAlkalinity_umol_kg: 300 };
  const noWater = [
    { ...water, startPhTotal: 3 },
    { ...water, startPhTotal: 8, salinity: 60 },
    { ...water, startPhTotal: 8, temperature_C: 70 },
    { ...water, startPhTotal: 8, startTotalAlkalinity_umol_kg: -50 },
  ];
  for (const start of noWater) {
    expect(() => effectOfDose({ ...start, addition: 'carbonate', addedAlkalinity_umol_kg: 0 })).toThrow(OutOfRange);
    for (const mostAddedAlkalinity_umol_kg of [0, 300])
      expect(
        largestAdditionWithin({ ...start, addition: 'carbonate' }, { ...limit, mostAddedAlkalinity_umol_kg }),
      ).toBe(0);
  }
  for (const bad of [{ highestPhTotal: 6.9 }, { highestPhTotal: 9.6 }, { mostAddedAlkalinity_umol_kg: 5001 }])
    expect(() =>
      largestAdditionWithin({ ...water, startPhTotal: 8, addition: 'carbonate' }, { ...limit, ...bad }),
    ).toThrow(OutOfRange);
});

// Bicarbonate lowers the pH of sea water above about 7.6, so that much of it could end below the limit; what is past it gets none.
test('water that is past the pH limit by a hair is given so much bicarbonate that it ends below it, or water just at it is given none', () => {
  const limit = { ...phAlone, highestPhTotal: 8.3, mostAddedAlkalinity_umol_kg: 3000 };
  const bicarbonate = (startPhTotal: number) =>
    largestAdditionWithin({ ...water, addition: 'bicarbonate', startPhTotal }, limit);
  const after = effectOfDose({ ...water, addition: 'bicarbonate', startPhTotal: 8.301, addedAlkalinity_umol_kg: 3000 });
  expect(after.endPhTotal).toBeLessThan(8.3);
  expect([bicarbonate(8.301), bicarbonate(8.3)]).toEqual([0, 3000]);
});
