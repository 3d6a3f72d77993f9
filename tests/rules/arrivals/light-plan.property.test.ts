import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { dailyLightIntegral } from '#rules/arrivals/daily-light.ts';
import { lightPlan, mostDailyRatio, relayLightPlan } from '#rules/arrivals/light-plan.ts';
import { checkedProfile, heightForPar, parAtHeight } from '#rules/arrivals/light-profile.ts';

const profile = fc
  .array(
    fc.record({ rise_cm: fc.integer({ min: 1, max: 20 }), ratio: fc.double({ min: 1.02, max: 2, noNaN: true }) }),
    {
      minLength: 1,
      maxLength: 6,
    },
  )
  .map((steps) => {
    const pairs = [{ height_cm: 0, par_umol_m2_s: 40 }];
    for (const { rise_cm, ratio } of steps) {
      const below = pairs.at(-1)!;
      pairs.push({ height_cm: below.height_cm + rise_cm, par_umol_m2_s: below.par_umol_m2_s * ratio });
    }
    return { kind: 'measured' as const, pairs };
  });

const wish = fc
  .record({
    profile,
    days: fc.integer({ min: 2, max: 60 }),
    hours: fc.double({ min: 1, max: 14, noNaN: true }),
    share: fc.double({ min: 0.05, max: 1, noNaN: true }),
    steps: fc.constantFrom('equal_steps' as const, 'equal_ratios' as const),
  })
  .map(({ profile: measured, days, hours, share, steps }) => {
    const highest = measured.pairs.at(-1)!.par_umol_m2_s;
    const target = { par_umol_m2_s: 40 + share * (highest - 40) };
    return { profile: measured, day: { fullHours: hours }, target, days, steps };
  });

describe('any light plan', () => {
  it('lowers the rack, makes an unequal step, leaves whole centimetres or misses the target by more than half of one', () => {
    fc.assert(
      fc.property(wish, (given) => {
        const plan = lightPlan(given);
        const places = checkedProfile(given.profile);
        expect(plan.days.length).toBeGreaterThanOrEqual(given.days);
        for (const [index, day] of plan.days.entries()) {
          expect(Number.isInteger(day.height_cm)).toBe(true);
          expect(day.par_umol_m2_s).toBe(parAtHeight(places, day.height_cm));
          expect(day.dli_mol_m2).toBe(dailyLightIntegral(day.par_umol_m2_s, given.day));
          if (index === 0) continue;
          const before = plan.days[index - 1]!;
          expect(day.height_cm).toBeGreaterThanOrEqual(before.height_cm);
          const ratio = day.wanted_mol_m2 / before.wanted_mol_m2;
          expect(ratio).toBeLessThanOrEqual(mostDailyRatio + 1e-9);
          // The last step may be a smaller one, and then a day at the target.
          if (plan.days.length > given.days && day.wanted_mol_m2 === plan.target_mol_m2) continue;
          if (ratio > mostDailyRatio - 1e-9) continue;
          if (given.steps === 'equal_steps') expect(day.wanted_mol_m2 - before.wanted_mol_m2).toBeCloseTo(plan.step, 9);
          else expect(ratio).toBeCloseTo(plan.step, 9);
        }
        const exact_cm = heightForPar(places, given.target.par_umol_m2_s);
        expect(Math.abs(plan.days.at(-1)!.height_cm - exact_cm)).toBeLessThanOrEqual(0.5 + 1e-9);
      }),
    );
  });

  it('a hold or a step back loses the target, changes the past or climbs faster', () => {
    fc.assert(
      fc.property(
        wish,
        fc.nat(),
        fc.nat(),
        fc.integer({ min: 1, max: 9 }),
        fc.boolean(),
        (given, someDay, someBack, forDays, isHold) => {
          const plan = lightPlan(given);
          const day = 2 + (someDay % (given.days - 1));
          const byDays = 1 + (someBack % (day - 1));
          const relaid = relayLightPlan(
            plan,
            isHold ? { kind: 'hold', day, forDays } : { kind: 'step_back', day, byDays, forDays },
          );
          expect(relaid.days.slice(0, day - 1)).toEqual(plan.days.slice(0, day - 1));
          const held = plan.days[(isHold ? day : day - byDays) - 1]!;
          const from = isHold ? day : day - 1;
          for (const { height_cm } of relaid.days.slice(from, from + forDays)) expect(height_cm).toBe(held.height_cm);
          expect(relaid.days.at(-1)!.wanted_mol_m2).toBe(plan.target_mol_m2);
          expect(relaid.days.length).toBe(plan.days.length + forDays + (isHold ? 0 : byDays - 1));
          for (let index = 1; index < relaid.days.length; index += 1) {
            const [before, after] = [relaid.days[index - 1]!.wanted_mol_m2, relaid.days[index]!.wanted_mol_m2];
            const most = given.steps === 'equal_steps' ? before + plan.step : before * plan.step;
            expect(after).toBeLessThanOrEqual(most * (1 + 1e-9));
          }
        },
      ),
    );
  });

  it('height and PAR are not each other’s inverse', () => {
    fc.assert(
      fc.property(profile, fc.double({ min: 0, max: 1, noNaN: true }), (measured, share) => {
        const places = checkedProfile(measured);
        const height_cm = share * places.at(-1)!.height_cm;
        expect(heightForPar(places, parAtHeight(places, height_cm))).toBeCloseTo(height_cm, 6);
      }),
    );
  });
});
