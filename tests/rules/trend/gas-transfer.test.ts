import { describe, expect, test } from 'vitest';
import { gasTransferFromNights } from '#rules/trend/gas-transfer.ts';
import { gasCover, nightsOf } from './gas-cover.ts';
import { gasTank } from './gas-tank.ts';

/** `TANKS=1000` is the long form. */
const tanks = Number(process.env['TANKS'] ?? 12);
const firstSeed = 20_001;

describe('gas exchange of a tank', () => {
  test('the interval is too narrow, or too wide, for simulated tanks', { timeout: 4e6 }, () => {
    const cover = gasCover(Array.from({ length: tanks }, (_, at) => firstSeed + at));
    const percent = (share: number): string => (100 * share).toFixed(1);
    console.log(
      `gas exchange, ${tanks} tanks, seeds ${firstSeed} to ${firstSeed + tanks - 1}: 95 % intervals held ${percent(cover.covered)} %, error ${cover.errorPercent.toFixed(0)} %, ` +
        `interval from 1 to ${cover.factor.toFixed(1)} in the middle; room measured in ${cover.measured}, held ${percent(cover.coveredMeasured)} %; ` +
        `well known in ${cover.wellKnown}, held ${percent(cover.coveredOfWellKnown)} %, error ${cover.errorOfWellKnownPercent.toFixed(0)} %; ` +
        `dosed by night alone ${cover.night.tanks}, held ${percent(cover.night.covered)} %, ${cover.night.biasPercent.toFixed(0)} % too high, ` +
        `well known ${cover.night.wellKnown}, held ${percent(cover.night.coveredOfWellKnown)} %`,
    );
    const [least, most] = tanks >= 500 ? [0.92, 0.98] : [0.75, 1];
    expect(cover.tanks).toBe(tanks);
    expect(cover.covered).toBeGreaterThanOrEqual(least);
    expect(cover.covered).toBeLessThanOrEqual(most);
    expect(cover.errorPercent).toBeLessThan(60);
    expect(cover.wellKnown).toBeGreaterThan(0);
    // Who doses in the dark alone gets an estimate that is too high; limits of advice are loosened by a well known one alone, which has to hold.
    if (tanks >= 200) {
      expect(cover.night.biasPercent).toBeLessThan(40);
      expect(cover.night.covered).toBeGreaterThanOrEqual(0.9);
      expect(cover.night.coveredOfWellKnown).toBeGreaterThanOrEqual(0.9);
    }
    expect(cover.errorOfWellKnownPercent).toBeLessThan(tanks >= 500 ? 25 : 45);
  });

  test('a handful of nights, or short ones, are taken for knowledge', () => {
    const nights = nightsOf(gasTank(firstSeed));
    expect(gasTransferFromNights(nights.slice(0, 4))).toBeUndefined();
    expect(
      gasTransferFromNights(nights.map((night) => ({ ...night, hours: night.hours.slice(0, 5) }))),
    ).toBeUndefined();
    expect(gasTransferFromNights([])).toBeUndefined();
  });

  test('nights in another order give another answer', () => {
    const nights = nightsOf(gasTank(firstSeed + 1));
    const [one, other] = [gasTransferFromNights(nights)!, gasTransferFromNights(nights.toReversed())!];
    expect(other.coefficient_per_h).toBeCloseTo(one.coefficient_per_h, 9);
    expect(one.low95).toBeLessThan(one.coefficient_per_h);
    expect(one.high95).toBeGreaterThan(one.coefficient_per_h);
  });

  test('water that nothing lives in is given a narrow interval', () => {
    const still = nightsOf(gasTank(firstSeed + 2)).map(({ hours, light, ...night }) => ({
      ...{ ...night, used_umol_kg_h: 0, carbonGiven_umol_kg_h: 0 },
      hours: hours.map((hour) => ({ ...hour, phTotal: 8.1, totalAlkalinity_umol_kg: 2300 })),
      light: light.map((hour) => ({ ...hour, phTotal: 8.1, totalAlkalinity_umol_kg: 2300 })),
    }));
    expect(gasTransferFromNights(still)!.isWellKnown).toBe(false);
  });
});
