import { expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { isNewsBeside } from '#rules/dosing/advice-change.ts';
import { example, withEstimate } from './advice-case.ts';

const before = adviseDose(example);

test('a keeper is told of a change that is smaller than what is known', () => {
  // The example knows the level within 1.96 x 0.06 = 0.118 dKH, the demand within 0.059 a day.
  expect(before.correction).toBeDefined();
  expect(isNewsBeside(before, adviseDose(withEstimate({ level: 7.45, demandPerDay: 1.03 })))).toBe(false);
  expect(isNewsBeside(before, before)).toBe(false);
});

test('a keeper is not told of a change that is larger', () => {
  expect(isNewsBeside(before, adviseDose(withEstimate({ level: 7.3 })))).toBe(true);
  expect(isNewsBeside(before, adviseDose(withEstimate({ demandPerDay: 1.12 })))).toBe(true);
});

test('a keeper is not told to retest, or pours the old millilitres of another solution', () => {
  expect(isNewsBeside(before, adviseDose(withEstimate({ suspect: true })))).toBe(true);
  const product = { ...example.product!, made: { of: 'sodium_carbonate' as const, gramsPerLitre: 50 } };
  expect(isNewsBeside(before, adviseDose({ ...example, product }))).toBe(true);
  const { correction: _, ...without } = before;
  expect(isNewsBeside(before, without)).toBe(true);
});
