import { describe, expect, it } from 'vitest';
import { freeAmmoniaShare } from '#rules/arrivals/free-ammonia.ts';
import { ammoniaInBag, shockBetween } from '#rules/arrivals/shock.ts';
import { convertPh } from '#rules/seawater/ph-scale.ts';

const tank = { temperature: 25.5, salinity: 35, ph: 8.2 };

describe('moved from one water into another', () => {
  it('a large difference goes unremarked, or a small one cries wolf', () => {
    const verdict = shockBetween({ temperature: 22, salinity: 34.2, ph: 7.6 }, tank);
    expect(verdict.differences.map(({ metric, isLarge }) => [metric, isLarge])).toEqual([
      ['temperature', true],
      ['salinity', false],
      ['ph', true],
    ]);
    expect(verdict.warnings).toEqual([
      'Temperature would rise from 22.00 °C to 25.50 °C, more than 1 °C at once.',
      'pH would rise from 7.60 to 8.20, more than 0.3 at once.',
    ]);
    expect(verdict.isLarge).toBe(true);
    // °F = °C × 9/5 + 32, by definition: 22 is 71.6, 25.5 is 77.9, a difference of 1 °C is 1.8 °F.
    expect(shockBetween({ temperature: 22 }, tank, undefined, { temperature: '°F' }).warnings).toEqual([
      'Temperature would rise from 71.60 °F to 77.90 °F, more than 1.8 °F at once.',
    ]);
    expect(shockBetween(tank, tank)).toMatchObject({ isLarge: false, warnings: [], unknown: [] });
    // Just the limit, off by a float's last digit.
    expect(shockBetween({ temperature: 26.3 }, { temperature: 25.3 }).isLarge).toBe(false);
  });

  it('a bag that nobody measured counts as matched', () => {
    const verdict = shockBetween({ temperature: 25 }, tank);
    expect(verdict.unknown).toEqual(['salinity', 'ph']);
    expect(verdict.differences).toHaveLength(1);
  });

  it('a slip of the hand is judged as water', () => {
    expect(() => shockBetween({ salinity: 350 }, tank)).toThrow(/salinity is 350/);
    expect(() => shockBetween({ temperature: Number.NaN }, tank)).toThrow(/temperature/);
  });
});

describe('ammonia in a bag', () => {
  it('a bag whose pH has dropped is opened without a warning', () => {
    const found = ammoniaInBag({ temperature: 25.5, salinity: 35, ph: 7.2 }, tank);
    // One pH unit up at small shares: nearly ten times as much.
    expect(found.factor).toBeGreaterThan(9);
    expect(found.factor).toBeLessThan(10);
    expect(found.isWarned).toBe(true);
    expect(found.text).toMatch(/temperature first with the bag closed.*be short/);
  });

  it('a bag at the tank’s pH is hurried for nothing', () => {
    const found = ammoniaInBag({ temperature: 25.5, salinity: 35, ph: 8.1 }, tank);
    expect(found.isWarned).toBe(false);
  });

  it('a test that found hardly any ammonia does not count', () => {
    const bag = { temperature: 25.5, salinity: 35, ph: 7.2 };
    expect(ammoniaInBag({ ...bag, totalAmmonia_mg_L_N: 0.1 }, tank).isWarned).toBe(false);
    const much = ammoniaInBag({ ...bag, totalAmmonia_mg_L_N: 1 }, tank);
    expect(much.isWarned).toBe(true);
    expect(much.freeAtTankPh_mg_L! / much.freeInBag_mg_L!).toBeCloseTo(much.factor, 9);
  });

  it('water outside the formula gets a share all the same', () => {
    expect(() => ammoniaInBag({ temperature: 25, salinity: 5, ph: 7 }, tank)).toThrow(/salinity of the bag is 5/);
    expect(() => ammoniaInBag({ temperature: 45, salinity: 35, ph: 7 }, tank)).toThrow(/temperature/);
  });
});

describe('what is said of a shock', () => {
  it('calls a fall a rise, or takes a tank that nobody measured for matched', () => {
    expect(shockBetween(tank, { ...tank, salinity: 33 }).warnings).toEqual([
      'Salinity would fall from 35.00 to 33.00, more than 1 at once.',
    ]);
    expect(shockBetween(tank, { temperature: 25.5 }).unknown).toEqual(['salinity', 'ph']);
  });
});

describe('free ammonia of a bag', () => {
  const water = { salinity: 35, temperature_C: 25.5 };
  const bag = { temperature: 25.5, salinity: 35, ph: 7.2 };

  // A pH of an aquarium electrode is some 0.1 higher than on the total scale (tests/rules/seawater); the share is worked out there.
  it('is worked out as if an electrode showed the total scale', () => {
    const { shareInBag, shareAtTankPh } = ammoniaInBag(bag, tank);
    const share = (ph: number) => freeAmmoniaShare(convertPh(ph, 'nbs', 'total', water), water);
    expect(shareInBag).toBeCloseTo(share(7.2), 12);
    expect(shareAtTankPh).toBeCloseTo(share(8.2), 12);
    expect(shareAtTankPh).toBeLessThan(0.9 * freeAmmoniaShare(8.2, water));
  });

  // 8.1 less 7.8 is 0.3 but for the last digit of a float.
  it('is hurried for less than 0.3 pH, or not for just that', () => {
    const warned = (ph: number) => ammoniaInBag({ ...bag, ph }, { ...tank, ph: 8.1 }).isWarned;
    expect([warned(7.8), warned(7.81)]).toEqual([true, false]);
  });

  it('is told in other figures, or in figures where nobody tested', () => {
    const told = ammoniaInBag({ ...bag, totalAmmonia_mg_L_N: 1 }, tank);
    expect(told.text).toContain(
      `The tank's pH makes ${told.factor.toFixed(1)} times as much of the bag's ammonia free ` +
        `(${told.freeInBag_mg_L!.toFixed(3)} to ${told.freeAtTankPh_mg_L!.toFixed(3)} mg/L NH3).`,
    );
    expect(ammoniaInBag(bag, tank).text).toMatch(
      /^The tank's pH makes 9\.\d times as much of the bag's ammonia free\. Match/,
    );
  });
});
