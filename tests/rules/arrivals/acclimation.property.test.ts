import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { acclimationPaces, acclimationPlan } from '#rules/arrivals/acclimation.ts';
import { freeAmmoniaShare } from '#rules/arrivals/free-ammonia.ts';
import { mix } from '#rules/mixing/mixed-water.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });

describe('any acclimation', () => {
  it('the volumes poured do not give the salinities said, or a step is larger than the pace', () => {
    fc.assert(
      fc.property(number(20, 42), number(30, 38), number(0.1, 50), fc.boolean(), (from, to, bagL, isShort) => {
        const plan = acclimationPlan({ salinity: from }, { salinity: to }, bagL, isShort);
        const pace = isShort ? acclimationPaces.short : acclimationPaces.gentle;
        let salinity = from;
        for (const step of plan.steps) {
          if (step.kind !== 'exchange') continue;
          expect(step.litres).toBeLessThanOrEqual(bagL * pace.mostShare + 1e-9);
          const mixed = mix({ salinity }, bagL - step.litres, { salinity: to }, step.litres).salinity!;
          expect(mixed).toBeCloseTo(step.salinityAfter!, 6);
          expect(Math.abs(mixed - salinity)).toBeLessThanOrEqual(pace.mostSalinityPerStep + 1e-9);
          salinity = mixed;
        }
        expect(Math.abs(to - salinity)).toBeLessThanOrEqual(Math.abs(to - from) > 1 + 1e-9 ? 0.5 + 1e-6 : 1 + 1e-9);
      }),
    );
  });
});

describe('free ammonia in any water', () => {
  it('does not grow with pH and warmth', () => {
    fc.assert(
      fc.property(
        number(0, 40),
        number(0, 35),
        number(6, 9.5),
        number(0.01, 1),
        (salinity, temperature_C, ph, more) => {
          const share = freeAmmoniaShare(ph, { salinity, temperature_C });
          expect(share).toBeGreaterThan(0);
          expect(share).toBeLessThan(1);
          expect(freeAmmoniaShare(ph + more, { salinity, temperature_C })).toBeGreaterThan(share);
          expect(freeAmmoniaShare(ph, { salinity, temperature_C: temperature_C + more })).toBeGreaterThan(share);
        },
      ),
    );
  });
});
