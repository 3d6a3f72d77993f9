import { expect, test } from 'vitest';
import { largestAdditionBelowPh } from '#rules/dosing/effect-of-dose.ts';

const water = { salinity: 35, temperature_C: 25, startTotalAlkalinity_umol_kg: 2300 };

test('water that is past the pH limit is given more, of bicarbonate too, which would lower it', () => {
  const limit = { highestPhTotal: 8.3, mostAddedAlkalinity_umol_kg: 300 };
  for (const addition of ['bicarbonate', 'carbonate', 'hydroxide'] as const)
    expect([addition, largestAdditionBelowPh({ ...water, addition, startPhTotal: 8.4 }, limit)]).toEqual([addition, 0]);
});

test('a dose so large that the carbonate system gives no number is taken for one below the limit', () => {
  const limit = { highestPhTotal: 8.5, mostAddedAlkalinity_umol_kg: 5000 };
  const most = largestAdditionBelowPh({ ...water, addition: 'hydroxide', startPhTotal: 8.1 }, limit);
  expect(most).toBeGreaterThan(50);
  expect(most).toBeLessThan(1000);
});
