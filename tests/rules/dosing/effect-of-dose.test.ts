import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type AlkalineAddition, effectOfDose, largestAdditionWithin } from '#rules/dosing/effect-of-dose.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import type { BoronOption } from '#rules/seawater/seawater-composition.ts';
import { referenceTable } from '../seawater/reference-table.ts';

/** Limits that leave the highest pH alone to decide. */
const phAlone = { mostPhRise: 9, highestOmegaAragonite: 1e6 };

const reef = { salinity: 35, temperature_C: 25, startTotalAlkalinity_umol_kg: 2300, startPhTotal: 8.1 };

describe('the water right after a dose', () => {
  // Table: PyCO2SYS, cross-checked with CO2SYS and seacarb; tolerances of fixtures/reference/README.md.
  it.each(referenceTable('carbonate-dosing', 60))(
    'has the pH, CO2 and saturation of the reference in row %#',
    (row) => {
      const effect = effectOfDose({
        salinity: row.number('salinity'),
        temperature_C: row.number('temperature_C'),
        startTotalAlkalinity_umol_kg: row.number('start_total_alkalinity_umol_kg'),
        startPhTotal: row.number('start_ph_total'),
        addition: row.text('addition') as AlkalineAddition,
        addedAlkalinity_umol_kg: row.number('added_alkalinity_umol_kg'),
        boronOption: row.text('boron_option') as BoronOption,
      });
      expect(Math.abs(effect.endPhTotal - row.number('end_ph_total'))).toBeLessThan(1e-4);
      const pairs: [number, string][] = [
        [effect.endPco2_uatm, 'end_pco2_uatm'],
        [effect.endCo3_umol_kg, 'end_co3_umol_kg'],
        [effect.endOmegaAragonite, 'end_omega_aragonite'],
        [effect.endTotalAlkalinity_umol_kg, 'end_total_alkalinity_umol_kg'],
        [effect.endDic_umol_kg, 'end_dic_umol_kg'],
      ];
      for (const [found, column] of pairs) expect(Math.abs(found / row.number(column) - 1), column).toBeLessThan(5e-4);
    },
  );

  it('lifts pH by hydroxide most, by carbonate less, and lowers it by bicarbonate', () => {
    const ph = (addition: AlkalineAddition) =>
      effectOfDose({ ...reef, addition, addedAlkalinity_umol_kg: 200 }).endPhTotal;
    expect(ph('hydroxide')).toBeGreaterThan(ph('carbonate'));
    expect(ph('carbonate')).toBeGreaterThan(reef.startPhTotal);
    expect(ph('bicarbonate')).toBeLessThan(reef.startPhTotal);
  });

  it('never lets a single dose of lime or soda pass the pH limit', () => {
    for (const addition of ['hydroxide', 'carbonate'] as const) {
      const most = largestAdditionWithin(
        { ...reef, addition },
        { ...phAlone, highestPhTotal: 8.3, mostAddedAlkalinity_umol_kg: 5000 },
      );
      expect(most).toBeGreaterThan(50);
      const at = (added: number) => effectOfDose({ ...reef, addition, addedAlkalinity_umol_kg: added }).endPhTotal;
      expect(at(most)).toBeLessThanOrEqual(8.3);
      expect(at(most + 0.01)).toBeGreaterThan(8.3);
    }
  });

  it('lets bicarbonate be dosed to what was asked for, and nothing into water past the limit', () => {
    const limit = { ...phAlone, highestPhTotal: 8.3, mostAddedAlkalinity_umol_kg: 400 };
    expect(largestAdditionWithin({ ...reef, addition: 'bicarbonate' }, limit)).toBe(400);
    expect(largestAdditionWithin({ ...reef, startPhTotal: 8.35, addition: 'carbonate' }, limit)).toBe(0);
  });

  it('gives finite numbers or refuses, whatever the water', () => {
    const water = fc.record({
      salinity: fc.double(),
      temperature_C: fc.double(),
      startTotalAlkalinity_umol_kg: fc.double(),
      startPhTotal: fc.double(),
    });
    const likelyWater = fc.record({
      salinity: fc.double({ min: 15, max: 45, noNaN: true }),
      temperature_C: fc.double({ min: 0, max: 40, noNaN: true }),
      startTotalAlkalinity_umol_kg: fc.double({ min: 50, max: 11_000, noNaN: true }),
      startPhTotal: fc.double({ min: 4.5, max: 10.5, noNaN: true }),
    });
    const addition = fc.constantFrom<AlkalineAddition>('bicarbonate', 'carbonate', 'hydroxide');
    fc.assert(
      fc.property(fc.oneof(water, likelyWater), addition, fc.double({ min: -10, max: 6000 }), (start, kind, added) => {
        try {
          const effect = effectOfDose({ ...start, addition: kind, addedAlkalinity_umol_kg: added });
          for (const each of Object.values(effect)) expect(each).toSatisfy(Number.isFinite);
        } catch (error) {
          if (!(error instanceof OutOfRange)) throw error;
        }
      }),
    );
  });
});
