import { readFileSync } from 'node:fs';
import { parse } from 'csv-parse/sync';
import { describe, expect, it } from 'vitest';
import { phAfterDose } from '#rules/dosing/advice-ph.ts';
import { strengthOf } from '#rules/dosing/advice-product.ts';
import type { DoseWater } from '#rules/dosing/advice-water.ts';

describe('pH right after a dose', () => {
  const rows = (
    parse(readFileSync('fixtures/reference/carbonate-dosing.csv'), { columns: true }) as Record<string, string>[]
  ).filter((row) => row['boron_option'] === 'uppstrom1974' && Number(row['start_ph_total']) >= 7.5);
  const of = {
    bicarbonate: 'sodium_bicarbonate',
    carbonate: 'sodium_carbonate',
    hydroxide: 'sodium_hydroxide',
  } as const;

  it('agrees with the table of doses for every kind of base', () => {
    // fixtures/reference/carbonate-dosing.csv (PyCO2SYS 1.8.3.4, cross-checked there); tolerance pH 1e-4. The table is per kg,
    // advice per litre: the density of EOS-80 between them cancels to better than this.
    expect(rows.length).toBeGreaterThan(20);
    for (const row of rows) {
      const number = (column: string): number => Number(row[column]);
      const salinity = number('salinity');
      const temperature_C = number('temperature_C');
      const density = densityUnesco(salinity, temperature_C);
      const dKH = (umol_kg: number): number => (umol_kg * density) / 1000 / 0.3566525;
      const water: DoseWater = {
        ...{ salinity, temperature_C, phTotal: number('start_ph_total'), assumed: [] },
        ...{ highestPhTotal: 9, meterScale: 'total', isPhPastLimit: false, night: { phTotal: 7.9, leastPhTotal: 7.7 } },
        alkalinity_dKH: dKH(number('start_total_alkalinity_umol_kg')),
      };
      const addition = row['addition'] as keyof typeof of;
      const strength = strengthOf({ id: 'x', name: 'x', made: { of: of[addition] } }, 'alkalinity', 100);
      const after = phAfterDose(water, strength, dKH(number('added_alkalinity_umol_kg')));
      expect(Math.abs(after - number('end_ph_total'))).toBeLessThan(1e-4);
    }
  });
});

/** Density of sea water, kg/L. @source Millero & Poisson 1981 (EOS-80), typed here apart from the rule under test */
function densityUnesco(salinity: number, t: number): number {
  const pure =
    999.842594 +
    6.793952e-2 * t -
    9.09529e-3 * t ** 2 +
    1.001685e-4 * t ** 3 -
    1.120083e-6 * t ** 4 +
    6.536332e-9 * t ** 5;
  const a = 8.24493e-1 - 4.0899e-3 * t + 7.6438e-5 * t ** 2 - 8.2467e-7 * t ** 3 + 5.3875e-9 * t ** 4;
  const b = -5.72466e-3 + 1.0227e-4 * t - 1.6546e-6 * t ** 2;
  return (pure + a * salinity + b * salinity ** 1.5 + 4.8314e-4 * salinity ** 2) / 1000;
}
