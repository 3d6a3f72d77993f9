import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import type { AdviceInput } from '#rules/dosing/advice-types.ts';
import { example, withEstimate } from './advice-case.ts';

type Estimate = NonNullable<AdviceInput['estimate']>;

/** The example with another estimate, plan or band; 79.38 mL lift it by 1 dKH, the middle of its band is 8.25. */
function advised(estimate: Partial<Estimate>, currentPlanPerDay: number, change: Partial<AdviceInput> = {}) {
  return adviseDose({ ...withEstimate(estimate), currentPlanPerDay, ...change });
}
const banded = (band: AdviceInput['system']['band']): Pick<AdviceInput, 'system'> => ({
  system: { ...example.system, band },
});
const { product: _, ...bare } = example;

describe('the plan for every day', () => {
  // By hand: a step is worth a hand from 0.08 × 0.5 = 0.04 dKH a day on, and from the doubt of the demand on, 1.96 × 0.005 = 0.01.
  test('is changed for next to nothing, or left as it is until the level is off', () => {
    const sure = { level: 8.25, demandSd: 0.005 };
    expect(advised(sure, 0.94).maintenance?.amountPerDay).toBe(79);
    expect(advised(sure, 0.97).maintenance).toBeUndefined();
  });

  // By hand: the demand lies between 1.216 and 2.784 (2 ± 1.96 × 0.4). Were it 1.216, 1.716 would lift the level by just 0.5:
  // 136.2 mL, given 136.
  test('is set to a demand that is hardly known, and lifts the level too fast', () => {
    const unsure = advised({ level: 8.25, demandPerDay: 2, demandSd: 0.4 }, 1);
    expect(unsure.maintenance?.amountPerDay).toBe(136);
  });

  // By hand: the doubt is 0.0588; what is begun for that much is kept up for half of it, 0.0294.
  test('comes and goes by the hour where demand and plan lie just at what counts', () => {
    const near = (standing?: NonNullable<AdviceInput['standing']>) =>
      advised({ level: 8.25 }, 0.96, standing === undefined ? {} : { standing }).maintenance?.amountPerDay;
    expect(near()).toBeUndefined();
    expect(near({ isPlanChange: false, isCorrection: true })).toBeUndefined();
    expect(near({ isPlanChange: true, isCorrection: false })).toBe(79);
    expect(advised({ level: 8.25 }, 0.98, { standing: { isPlanChange: true, isCorrection: false } }).kind).toBe(
      'nothing',
    );
  });
});

describe('a correction', () => {
  // By hand: a quarter of half the band is 0.1875, the doubt of the level 0.1176: what lies nearer to 8.25 is left alone.
  test('is made of less than is worth it, or not made of more, or comes and goes', () => {
    const at = (level: number, standing?: NonNullable<AdviceInput['standing']>) =>
      advised({ level }, 1, standing === undefined ? {} : { standing }).correction?.days;
    expect([at(8.05), at(8.08)]).toEqual([1, undefined]);
    expect(at(8.1, { isPlanChange: false, isCorrection: true })).toBe(1);
    expect(at(8.1, { isPlanChange: true, isCorrection: false })).toBeUndefined();
    expect(at(8.17, { isPlanChange: false, isCorrection: true })).toBeUndefined();
  });

  // By hand: 4 dKH to go at 0.4412 a day are ten days; advice looks seven days ahead and is asked again.
  test('is planned further than the week that is looked at', () => {
    const { correction } = advised({ level: 4.25 }, 1);
    expect(correction?.days).toBe(7);
    expect(correction?.amountOnDay).toEqual(Array(7).fill(35));
  });

  // By hand: 0.3 less 0.0588 is 0.2412: 19.15 mL, given 19.1. Without a rate of the band 0.5 dKH a day is taken, common practice.
  test('goes by another rate than the band’s', () => {
    const first = (band: AdviceInput['system']['band']) => advised({}, 1, banded(band)).correction?.amountOnDay?.[0];
    expect(first({ low: 7.5, high: 9, mostPerDay: 0.3 })).toBe(19.1);
    expect(first({ low: 7.5, high: 9 })).toBe(35);
  });

  // By hand: 1.5 given, 1 ± 0.588 used: the plan already lifts the level by 0.5 a day, and a day's allowance is then 0.25.
  test('is added to a plan that lifts the level by all that is allowed', () => {
    const full = { ...withEstimate({ demandSd: 0.3 }, bare), currentPlanPerDay: 1.5 };
    expect(adviseDose(full).correction).toBeUndefined();
    expect(adviseDose({ ...full, product: example.product! }).correction).toBeUndefined();
  });
});

describe('above the band', () => {
  test('begins at its edge, which still belongs to it', () => {
    expect(advised({ level: 9 }, 1).kind).toBe('nothing');
    expect(advised({ level: 9.01 }, 1).kind).toBe('wait');
  });

  // By hand: 8.45 is 0.2 over the middle of 8.1 to 8.4, so that 0.8 of the demand of 1 is left: 63.5 mL, given 63.
  test('the plan falls by more than leads back to the middle', () => {
    const narrow = banded({ low: 8.1, high: 8.4, mostPerDay: 0.5 });
    expect(advised({ level: 8.45 }, 1, narrow).maintenance?.amountPerDay).toBe(63);
  });

  // By hand: 1 less the most of a day, 0.5, is 0.5. A plan of 0.53 is 0.03 over it, less than is worth a hand (0.04); 0.6 is not.
  test('a plan that is low already is changed, or one that is not is left', () => {
    const low = advised({ level: 9.6 }, 0.53);
    expect(low).toMatchObject({ kind: 'wait', reason: expect.stringContaining('Wait and let the corals') });
    expect(low.maintenance).toBeUndefined();
    expect(advised({ level: 9.6 }, 0.6).maintenance?.amountPerDay).toBe(39);
    expect(advised({ level: 9.6 }, 0.3).maintenance).toBeUndefined();
  });
});

describe('magnesium and calcium', () => {
  // By hand: 1300 to 1350 at 40 mg/L a day (common practice, no published source) less 1.96 × 1: 38.04 and 11.96. MgCl2·6H2O holds
  // 24.305 / 203.295 of magnesium: a gram lifts 420 L by 0.28466 mg/L: 133.6 g, by whole grams 133; 42.01 g are 42.
  test('are raised by the rate or the salt of another', () => {
    const magnesium: AdviceInput = {
      ...example,
      analyte: 'magnesium',
      ...banded({ low: 1250, high: 1450 }),
      estimate: { ...example.estimate!, level: 1300, levelSd: 10, demandPerDay: 3, demandSd: 1 },
      lastTests: [{ timeMs: example.nowMs, value: 1300 }],
      product: { id: 'mg', name: 'Magnesium', made: { of: 'magnesium_chloride_hexahydrate' } },
      currentPlanPerDay: 3,
    };
    const advice = adviseDose(magnesium);
    expect(advice.correction).toMatchObject({ unit: 'g', amountOnDay: [133, 42] });
    expect(advice.reason).toContain(
      'Magnesium is 1300 mg/L, 50 mg/L below the middle of the band: raise it by 50 mg/L',
    );
    expect(advice.retestAtMs).toBe(example.nowMs + 7 * 86_400_000);
  });

  test('calcium is raised by the rate of another', () => {
    // By hand: 15 mg/L a day (common practice) less 1.96 × 0.5: 14.02 of 20.
    const calcium: AdviceInput = {
      ...bare,
      analyte: 'calcium',
      ...banded({ low: 400, high: 450 }),
      estimate: { ...example.estimate!, level: 405, levelSd: 3, demandPerDay: 7, demandSd: 0.5 },
      currentPlanPerDay: 7,
    };
    const { correction, reason, retestAtMs } = adviseDose(calcium);
    expect(correction?.riseOnDay).toEqual([expect.closeTo(14.02, 2), expect.closeTo(5.98, 2)]);
    expect(reason).toContain('Calcium is 405 mg/L');
    expect(retestAtMs).toBe(example.nowMs + 4 * 86_400_000);
  });
});
