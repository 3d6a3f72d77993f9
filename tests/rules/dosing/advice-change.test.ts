import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { isNewsBeside } from '#rules/dosing/advice-change.ts';
import type { Advice, HoldBackRule } from '#rules/dosing/advice-types.ts';
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

describe('a keeper is not told', () => {
  const { correction: _, ...uncorrected } = before;
  const held = (...rules: HoldBackRule[]): Advice => ({
    ...{ kind: 'hold_back', analyte: 'alkalinity', reason: '', cautions: [], retestAtMs: 0, working: [] },
    ...{ sure: { word: 'barely', text: '' }, holdBacks: rules.map((rule) => ({ rule, text: '' })) },
  });

  test('of another reason to wait, or is told of the same one again', () => {
    expect(isNewsBeside(held('old_test'), held('old_test'))).toBe(false);
    expect(isNewsBeside(held('old_test'), held('ph_limit'))).toBe(true);
    expect(isNewsBeside(held('old_test'), held('old_test', 'ph_limit'))).toBe(true);
    expect(isNewsBeside(held(), { ...held(), kind: 'nothing' })).toBe(true);
    expect(isNewsBeside({ ...held(), kind: 'nothing' }, { ...held(), kind: 'wait' })).toBe(true);
    // That the plan may stay, said in the one way or the other, is the same to whoever pours it.
    expect(isNewsBeside({ ...before, kind: 'nothing' }, before)).toBe(false);
  });

  // The level is known within 0.118 dKH: a correction of 0.74 that appears is news, one of 0.1 is not.
  test('that a correction is wanted now, or is told of one that is smaller than what is known', () => {
    const none = { ...uncorrected, maintenance: before.maintenance! };
    const small = { ...before, correction: { ...before.correction!, totalRise: 0.1 } };
    expect([isNewsBeside(none, before), isNewsBeside(none, small), isNewsBeside(small, none)]).toEqual([
      true,
      false,
      false,
    ]);
  });

  test('that daily dosing begins or ends, however small it is', () => {
    const { maintenance: __, ...undosed } = before;
    const drop = { ...before, maintenance: { ...before.maintenance!, risePerDay: 0.01 } };
    expect([isNewsBeside(undosed, drop), isNewsBeside(drop, undosed)]).toEqual([true, true]);
    expect(isNewsBeside(before, { ...uncorrected, maintenance: before.maintenance! })).toBe(true);
  });

  test.each([
    ['another number of doses', { dosesPerDay: 6 }, true],
    ['grams in place of millilitres', { unit: 'g' as const }, true],
    ['a solution a third weaker', { amountPerDay: 1.5 * before.correction!.amountPerDay! }, true],
    ['a strength that differs by its last digit', { amountPerDay: 1.01 * before.correction!.amountPerDay! }, false],
    ['a rise where no product is named any more', { amountPerDay: 0 }, true],
  ])('of %s, or is told of nothing', (_what, change, isNews) => {
    for (const dose of ['correction', 'maintenance'] as const) {
      const now = { ...before, [dose]: { ...before[dose]!, ...change } };
      if (dose === 'maintenance' && 'amountPerDay' in change)
        now.maintenance!.amountPerDay =
          (change.amountPerDay / before.correction!.amountPerDay!) * before.maintenance!.amountPerDay!;
      expect([dose, isNewsBeside(before, now)]).toEqual([dose, isNews]);
    }
  });
});
