import { describe, expect, it } from 'vitest';
import { dailyLightIntegral, equivalentFullHours, parFromDailyLight } from '#rules/arrivals/daily-light.ts';

describe('daily light integral by its definition', () => {
  // 200 µmol/m²/s × 10 h × 3600 s / 1,000,000 = 7.2 mol/m².
  it('a coral gets another amount of light than the plan says', () => {
    expect(dailyLightIntegral(200, { fullHours: 10 })).toBeCloseTo(7.2, 12);
  });

  // The usual chart of horticulture: 500 µmol/m²/s for 12 h is 21.6 mol/m² (extension services; from memory).
  it('disagrees with the charts of horticulture', () => {
    expect(dailyLightIntegral(500, { fullHours: 12 })).toBeCloseTo(21.6, 12);
  });

  it('a ramp of two hours up and one down counts as more or less than its one and a half hours', () => {
    const day = { fullHours: 8, rampUpHours: 2, rampDownHours: 1 };
    expect(equivalentFullHours(day)).toBe(9.5);
    // By the trapezoid rule at one-second steps, as a logger would add it up.
    let sum = 0;
    for (let second = 0; second < 11 * 3600; second += 1) {
      const hour = (second + 0.5) / 3600;
      sum += 300 * Math.min(1, hour / 2, 11 - hour);
    }
    expect(dailyLightIntegral(300, day)).toBeCloseTo(sum / 1e6, 6);
    expect(parFromDailyLight(dailyLightIntegral(300, day), day)).toBeCloseTo(300, 9);
  });

  it.each([
    [{ fullHours: 25 }],
    [{ fullHours: 0 }],
    [{ fullHours: 20, rampUpHours: 5 }],
    [{ fullHours: -1, rampUpHours: 5 }],
    [{ fullHours: Number.NaN }],
  ])('a day of %o is lit', (day) => {
    expect(() => equivalentFullHours(day)).toThrow(/hours of/);
  });

  it('negative PAR makes a dark day', () => {
    expect(() => dailyLightIntegral(-1, { fullHours: 10 })).toThrow(/PAR/);
  });
});
