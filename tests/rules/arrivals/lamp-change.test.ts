import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { lampChange } from '#rules/arrivals/lamp-change.ts';
import { lightPlan, mostDailyRatio, underNewLamp } from '#rules/arrivals/light-plan.ts';
import { checkedProfile } from '#rules/arrivals/light-profile.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';

const lamp = (low: number, high: number, fullHours = 10) => ({
  places: checkedProfile({
    kind: 'measured',
    pairs: [
      { height_cm: 0, par_umol_m2_s: low },
      { height_cm: 40, par_umol_m2_s: high },
    ],
  }),
  day: { fullHours },
});

describe('another lamp over pieces that stay', () => {
  it('gives anybody more on the first day than the day before, or reckons another daily light than by hand', () => {
    const { heights, days } = lampChange(lamp(100, 200), lamp(150, 400), [0, 40]);
    // 200 µmol/m²/s for 10 h: 200 × 36000 / 1e6 = 7.2 mol/m²; 400: 14.4.
    expect(heights[1]).toMatchObject({
      before_mol_m2: expect.closeTo(7.2, 12),
      after_mol_m2: expect.closeTo(14.4, 12),
    });
    expect(heights.map(({ ratio }) => ratio)).toEqual([expect.closeTo(1.5, 12), expect.closeTo(2, 12)]);
    // The brightest gain sets it: half, then 15 % more each day: 0.5 × 1.15^5 = 1.0057.
    expect(days[0]?.share).toBeCloseTo(0.5, 12);
    expect(days).toHaveLength(6);
    expect(days.at(-1)?.share).toBe(1);
  });

  it('dims a lamp that is no brighter, or passes over longer hours', () => {
    expect(lampChange(lamp(100, 200), lamp(90, 180), [20]).days).toEqual([{ day: 1, share: 1 }]);
    // The same lamp for 12 h instead of 10: 1.2 times as much.
    expect(lampChange(lamp(100, 200), lamp(100, 200, 12), [20]).days[0]?.share).toBeCloseTo(1 / 1.2, 12);
  });

  it('lets any piece gain more than the ratio in a day, under any two lamps', () => {
    const light = fc
      .record({
        low: fc.double({ min: 20, max: 300, noNaN: true }),
        more: fc.double({ min: 1.05, max: 4, noNaN: true }),
        hours: fc.integer({ min: 4, max: 13 }),
      })
      .map(({ low, more, hours }) => lamp(low, low * more, hours));
    fc.assert(
      fc.property(
        light,
        light,
        fc.array(fc.integer({ min: 0, max: 40 }), { minLength: 1, maxLength: 5 }),
        (one, other, places) => {
          const { heights, days } = lampChange(one, other, places);
          for (const { before_mol_m2, after_mol_m2 } of heights) {
            expect(after_mol_m2 * days[0]!.share).toBeLessThanOrEqual(before_mol_m2 * (1 + 1e-9));
            for (const [index, { share }] of days.entries())
              if (index > 0) expect(share / days[index - 1]!.share).toBeLessThanOrEqual(mostDailyRatio + 1e-9);
          }
          expect(days.at(-1)!.share).toBe(1);
        },
      ),
    );
  });

  it('judges heights that nobody measured, or growth that is none', () => {
    expect(() => lampChange(lamp(100, 200), lamp(150, 400), [50])).toThrow(OutOfRange);
    expect(() => lampChange(lamp(100, 200), lamp(150, 400), [])).toThrow(OutOfRange);
    expect(() => lampChange(lamp(100, 200), lamp(150, 400), [10], 1)).toThrow(OutOfRange);
  });
});

describe('a rack of new arrivals under another lamp', () => {
  const old = {
    kind: 'measured' as const,
    pairs: [
      { height_cm: 0, par_umol_m2_s: 60 },
      { height_cm: 40, par_umol_m2_s: 240 },
    ],
  };
  const brighter = {
    kind: 'measured' as const,
    pairs: [
      { height_cm: 0, par_umol_m2_s: 70 },
      { height_cm: 40, par_umol_m2_s: 480 },
    ],
  };
  const day = { fullHours: 10 };
  const plan = lightPlan({ profile: old, day, target: { par_umol_m2_s: 220 }, days: 21 });

  it('does not start from the light that the pieces had, or loses its target', () => {
    const again = underNewLamp(plan, brighter, day, 8);
    expect(again.days.slice(0, 7)).toEqual(plan.days.slice(0, 7));
    const [had, has] = [again.days[6]!, again.days[7]!];
    expect(has.wanted_mol_m2).toBe(had.dli_mol_m2);
    expect(has.height_cm).toBeLessThan(had.height_cm);
    // 220 µmol/m²/s for 10 h.
    expect(again.days.at(-1)!.wanted_mol_m2).toBeCloseTo((220 * 36_000) / 1e6, 9);
    for (let index = 1; index < again.days.length; index += 1)
      expect(again.days[index]!.wanted_mol_m2 / again.days[index - 1]!.wanted_mol_m2).toBeLessThanOrEqual(1.2);
  });

  it('is put where even the lowest place is too bright', () => {
    const glaring = {
      kind: 'measured' as const,
      pairs: [
        { height_cm: 0, par_umol_m2_s: 200 },
        { height_cm: 40, par_umol_m2_s: 900 },
      ],
    };
    expect(() => underNewLamp(plan, glaring, day, 8)).toThrow(/light that the pieces had/);
  });
});
