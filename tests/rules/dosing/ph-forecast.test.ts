import { describe, expect, test } from 'vitest';
import type { AlkalineAddition } from '#rules/dosing/effect-of-dose.ts';
import { phAfterHours, shareLeftOfDay } from '#rules/dosing/ph-forecast.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { phFromAlkalinityAndPco2 } from '#rules/seawater/gas-exchange.ts';
import { referenceTable } from '../seawater/reference-table.ts';

const doses = referenceTable('carbonate-dosing', 60);
const reef = { salinity: 35, temperature_C: 25, startTotalAlkalinity_umol_kg: 2300, startPhTotal: 8.05 };

describe('pH after a dose, with gas exchange', () => {
  test('without gas exchange it differs from the table of doses in a closed bottle', () => {
    for (const row of doses) {
      const found = phAfterHours(
        {
          ...{ salinity: row.number('salinity'), temperature_C: row.number('temperature_C') },
          boronOption: row.text('boron_option') === 'lee2010' ? 'lee2010' : 'uppstrom1974',
          startTotalAlkalinity_umol_kg: row.number('start_total_alkalinity_umol_kg'),
          startPhTotal: row.number('start_ph_total'),
          addition: row.text('addition') as AlkalineAddition,
          addedAlkalinity_umol_kg: row.number('added_alkalinity_umol_kg'),
          ...{ overHours: 0, coefficient_per_h: 0 },
        },
        48,
      );
      expect(found, `line ${row.line}`).toBeCloseTo(row.number('end_ph_total'), 6);
    }
  });

  test('in the end it does not come back to the CO2 that it had', () => {
    const dose = { ...reef, addition: 'hydroxide', addedAlkalinity_umol_kg: 100, overHours: 0 } as const;
    const water = { salinity: 35, temperature_C: 25, totalAlkalinity_umol_kg: 2400 };
    // The tables: alkalinity 2300 holds 340.1 µatm at pH 8.1 and 451.6 at 8.0; between them here.
    const end = phAfterHours({ ...dose, coefficient_per_h: 10 }, 200);
    let [low, high] = [340.105003, 451.567083];
    for (let step = 0; step < 60; step += 1) {
      const middle = (low + high) / 2;
      if (phFromAlkalinityAndPco2({ ...water, totalAlkalinity_umol_kg: 2300 }, middle) > 8.05) low = middle;
      else high = middle;
    }
    expect(end).toBeCloseTo(phFromAlkalinityAndPco2(water, low), 5);
  });

  test('a small dose fades at another rate than the tables say', () => {
    // Two rows of the table at alkalinity 2300: DIC and CO2 of pH 8.1 and 8.0. One µmol of CO2 stands for 18.78 of DIC (Sarmiento & Gruber
    // 2006, Ocean Biogeochemical Dynamics, chapter 8, has about 20 for the ocean's surface, from memory).
    const carbonPerGas = (2026.396783 - 1967.145623) / (12.779946 - 9.625422);
    expect(carbonPerGas).toBeCloseTo(18.8, 1);
    const dose = { ...reef, addition: 'hydroxide', addedAlkalinity_umol_kg: 10, overHours: 0 } as const;
    const at = (hours: number, coefficient_per_h: number): number =>
      phAfterHours({ ...dose, coefficient_per_h }, hours);
    const [start, end] = [at(0, 1), at(240, 10)];
    for (const hours of [2, 10, 30]) {
      const left = (at(hours, 1) - end) / (start - end);
      expect(left, `${hours} h`).toBeCloseTo(Math.exp(-hours / carbonPerGas), 1);
      expect(Math.abs(left / Math.exp(-hours / carbonPerGas) - 1), `${hours} h`).toBeLessThan(0.04);
    }
  });

  test('a faster exchange leaves more, or bicarbonate lifts pH at once', () => {
    const dose = { ...reef, addition: 'carbonate', addedAlkalinity_umol_kg: 200, overHours: 1 } as const;
    const after = [0, 0.3, 1, 3].map((coefficient_per_h) => phAfterHours({ ...dose, coefficient_per_h }, 6));
    expect(after).toEqual(after.toSorted((a, b) => b - a));
    expect(new Set(after).size).toBe(4);
    const bicarbonate = { ...dose, addition: 'bicarbonate', overHours: 0, coefficient_per_h: 1 } as const;
    expect(phAfterHours(bicarbonate, 0)).toBeLessThan(8.05);
    expect(phAfterHours(bicarbonate, 120)).toBeGreaterThan(8.05);
  });

  test('what is left of a day is not that of a rise that fades evenly', () => {
    const dose = { ...reef, addition: 'hydroxide', addedAlkalinity_umol_kg: 20 } as const;
    expect(shareLeftOfDay({ ...dose, coefficient_per_h: 0 })).toBeCloseTo(1, 6);
    // Steady feed against fading: (1 - e^-x) / x of what fades; what never fades is the pH of more alkalinity at the same CO2.
    const forGood =
      (phAfterHours({ ...dose, overHours: 0, coefficient_per_h: 15 }, 240) - 8.05) /
      (phAfterHours({ ...dose, overHours: 0, coefficient_per_h: 0 }, 0) - 8.05);
    for (const coefficient_per_h of [0.3, 0.8, 2, 5]) {
      const x = (24 * coefficient_per_h) / 18.78;
      const expected = forGood + (1 - forGood) * ((1 - Math.exp(-x)) / x);
      expect(shareLeftOfDay({ ...dose, coefficient_per_h })).toBeCloseTo(expected, 1);
      expect(Math.abs(shareLeftOfDay({ ...dose, coefficient_per_h }) / expected - 1)).toBeLessThan(0.05);
    }
  });

  test('a coefficient or a time that cannot be is reckoned with', () => {
    const dose = { ...reef, addition: 'hydroxide', addedAlkalinity_umol_kg: 20, overHours: 0 } as const;
    expect(() => phAfterHours({ ...dose, coefficient_per_h: -1 }, 1)).toThrow(OutOfRange);
    expect(() => phAfterHours({ ...dose, coefficient_per_h: 1 }, 300)).toThrow(OutOfRange);
    expect(() => shareLeftOfDay({ ...dose, addition: 'bicarbonate', coefficient_per_h: 1 })).toThrow(OutOfRange);
  });
});
