import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import type { AdviceInput } from '#rules/dosing/advice-types.ts';
import { dilutionOf } from '#rules/dosing/dilution.ts';
import { dayMs, example, now, withEstimate } from './advice-case.ts';

/**
 * The example five days after fresh water went in: salinity from 35 to 34, so alkalinity from 8.25 to 8.25 × 34 / 35 = 8.014 dKH.
 * Both are inside their bands.
 */
function diluted(change: { level?: number; salinities?: readonly (number | undefined)[] } = {}): AdviceInput {
  const { level = 8.014, salinities = [35, 35, 34, 34] } = change;
  const input = withEstimate({ level, demandPerDay: 1.1 });
  const lastTests = salinities.map((salinity, at) => ({
    ...{ timeMs: now - (salinities.length - at) * dayMs, value: at < 2 ? 8.25 : level, sd: 0.1 },
    ...(salinity === undefined ? {} : { salinity }),
  }));
  return { ...input, lastTests, water: { ...input.water, salinity: { value: 34.2, ageMs: dayMs } } };
}

const isHeld = (input: AdviceInput): boolean => adviseDose(input).holdBacks.some(({ rule }) => rule === 'only_diluted');

describe('a tank that fresh water has thinned', () => {
  test('is dosed for what comes back with the salt', () => {
    const advice = adviseDose(diluted());
    expect(advice.kind).toBe('hold_back');
    expect(advice.today).toEqual([]);
    // 8.014 × (35 / 34 − 1) = 0.236 dKH; 8.014 × 35 / 34 = 8.25.
    expect(advice.reason).toContain('Salinity fell from 35.0 to 34.0, and that alone took 0.24 dKH of alkalinity');
    expect(advice.reason).toContain('at salinity 35 it is 8.25, and was 8.25. Bring the salinity back first');
    expect(advice.working.join('\n')).toContain('Test 8.01 dKH (8.25 dKH at salinity 35)');
  });

  test('is left hungry, where far more is missing than the dilution took', () => {
    expect(isHeld(diluted({ level: 7.6 }))).toBe(false);
  });

  test('is left hungry, where the salinity was always low, or nobody measured it', () => {
    expect(isHeld(diluted({ salinities: [34, 34, 34, 34] }))).toBe(false);
    expect(isHeld(diluted({ salinities: [undefined, undefined, undefined, undefined] }))).toBe(false);
    expect(dilutionOf(diluted({ salinities: [35, 35, 34.8, 34.7] }), { level: 8 })).toBeUndefined();
  });

  test('is left hungry, where it was too salty before and thinner water was wanted', () => {
    expect(dilutionOf(diluted({ salinities: [37, 37, 35, 35] }), { level: 8 })).toBeUndefined();
    // Down past the middle of its band (34 to 36): what is below it was not wanted.
    expect(dilutionOf(diluted({ salinities: [37, 37, 34, 34] }), { level: 8 })?.salinityBefore).toBe(35);
  });

  test('is compared with the water of a month ago', () => {
    const input = diluted();
    const old = input.lastTests.map((each, at) => (at < 2 ? { ...each, timeMs: each.timeMs - 25 * dayMs } : each));
    expect(dilutionOf({ ...input, lastTests: old }, { level: 8 })).toBeUndefined();
    expect(adviseDose(example).holdBacks).toEqual([]);
  });
});
