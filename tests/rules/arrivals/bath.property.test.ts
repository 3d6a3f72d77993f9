import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bathWater, dipBath, leastTankShare, mostSoakMinutes } from '#rules/arrivals/bath.ts';

describe('any dip bath', () => {
  const wish = fc.record({
    bathL: fc.double({ min: 0.1, max: 1000, noNaN: true }),
    tankShare: fc.double({ min: leastTankShare, max: 1, noNaN: true }),
    soakMinutes: fc.double({ min: 0.1, max: mostSoakMinutes, noNaN: true }),
    reagents: fc.uniqueArray(
      fc.record({ name: fc.constantFrom('a', 'b', 'c'), dose_mL_L: fc.double({ min: 0, max: 200, noNaN: true }) }),
      { selector: ({ name }) => name },
    ),
  });

  it('does not fill up, or leaves the tank lower or thinner than it was', () => {
    fc.assert(
      fc.property(wish, (given) => {
        const bath = dipBath(given);
        expect(bath.tankL + bath.bagL).toBeCloseTo(given.bathL, 9);
        expect(bath.tankL).toBeGreaterThanOrEqual(bath.bagL - 1e-9);
        expect(bath.replaceL).toBe(bath.tankL);
        for (const [index, { volume_mL }] of bath.reagents.entries()) {
          expect(volume_mL).toBeCloseTo(given.bathL * given.reagents[index]!.dose_mL_L, 6);
        }
      }),
    );
  });

  it('its water lies outside the two that made it', () => {
    fc.assert(
      fc.property(wish, fc.double({ min: 20, max: 40, noNaN: true }), (given, inBag) => {
        const { salinity } = bathWater({ salinity: 35 }, { salinity: inBag }, dipBath(given));
        expect(salinity).toBeGreaterThanOrEqual(Math.min(35, inBag) - 1e-9);
        expect(salinity).toBeLessThanOrEqual(Math.max(35, inBag) + 1e-9);
        expect(Math.abs(35 - salinity!)).toBeLessThanOrEqual(Math.abs(35 - inBag) / 2 + 1e-9);
      }),
    );
  });
});
