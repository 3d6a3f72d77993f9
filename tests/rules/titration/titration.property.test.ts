import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { phFreeAfterAcid } from '#rules/titration/acid-balance.ts';
import { alkalinityFromTitration } from '#rules/titration/alkalinity-from-titration.ts';
import { resultFromEndPoint } from '#rules/titration/end-point-test.ts';
import { acidToPh, alkalinityFromAcidToPh } from '#rules/titration/fixed-end-point.ts';
import { calciumFromEdta, magnesiumByDifference } from '#rules/titration/hardness-titration.ts';
import { titrationChemistry } from '#rules/titration/seawater-titration.ts';
import type { TitrationRun } from '#rules/titration/titration-run.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });

const water = fc.record({
  salinity: number(28, 40),
  temperature_C: number(18, 32),
  totalAlkalinity_umol_kg: number(1500, 5000),
  dicShare: number(0.7, 0.95),
  offset: number(-0.3, 0.3),
  mass_g: number(30, 200),
  isClosed: fc.boolean(),
});

/** A run as nature would write it: acid in steps of a fortieth of the equivalence, from none to 1.6 times as much. */
function run(of: typeof water extends fc.Arbitrary<infer T> ? T : never): TitrationRun {
  const chemistry = titrationChemistry(of.salinity, of.temperature_C);
  const dic_umol_kg = of.isClosed ? of.dicShare * of.totalAlkalinity_umol_kg : 0;
  const sample = { mass_g: of.mass_g, totalAlkalinity_umol_kg: of.totalAlkalinity_umol_kg, dic_umol_kg };
  const equivalence_g = (1e-6 * of.totalAlkalinity_umol_kg * of.mass_g) / 0.1;
  const points = Array.from({ length: 65 }, (_, index) => {
    const acid_g = (equivalence_g * index) / 40;
    return { acid_g, reading: of.offset + phFreeAfterAcid(chemistry, sample, acid_g, 0.1) };
  });
  return {
    points,
    signal: 'ph',
    sample: { mass_g: of.mass_g },
    sampleDensity_g_mL: 1.023,
    acid: { mol_kg: 0.1 },
    temperature_C: of.temperature_C,
    cell: of.isClosed ? { kind: 'closed', dic_umol_kg } : { kind: 'open' },
    chemistry,
  };
}

describe('titrations', () => {
  it('gives back the water that wrote the curve, whatever the electrode', () => {
    fc.assert(
      fc.property(water, (of) => {
        const verdict = alkalinityFromTitration(run(of));
        if (verdict.kind === 'no_answer') throw new Error(verdict.why);
        expect(verdict.totalAlkalinity_umol_kg).toBeCloseTo(of.totalAlkalinity_umol_kg, 3);
        expect(verdict.electrode).toMatchObject({ phOffset: expect.closeTo(of.offset, 5) });
      }),
      { numRuns: 40 },
    );
  });

  it('never answers with a number that is none, whatever is typed', () => {
    const point = fc.record({ acid_g: fc.double(), reading: fc.double() });
    const plausiblePoint = fc.record({ acid_g: number(0, 10), reading: number(2, 9) });
    const points = fc
      .oneof(fc.array(point, { maxLength: 12 }), fc.array(plausiblePoint, { maxLength: 12 }))
      .chain((list) =>
        fc.boolean().map((isSorted) =>
          isSorted
            ? list
                .map(({ acid_g }) => acid_g)
                .sort((one, other) => one - other)
                .map((acid_g, index) => ({
                  acid_g,
                  reading: list.map(({ reading }) => reading).sort((a, b) => b - a)[index]!,
                }))
            : list,
        ),
      );
    const base = run({
      salinity: 35,
      temperature_C: 25,
      totalAlkalinity_umol_kg: 2300,
      dicShare: 0.9,
      offset: 0,
      mass_g: 100,
      isClosed: false,
    });
    fc.assert(
      fc.property(points, fc.constantFrom('ph', 'emf_mV'), fc.boolean(), (list, signal, isClosed) => {
        const cell: TitrationRun['cell'] = isClosed ? { kind: 'closed' } : { kind: 'open' };
        const verdict = alkalinityFromTitration({ ...base, points: list, signal: signal as 'ph' | 'emf_mV', cell });
        if (verdict.kind === 'no_answer') return;
        expect(verdict.totalAlkalinity_umol_kg).toSatisfy(Number.isFinite);
        expect(verdict.sd_umol_kg).toSatisfy(Number.isFinite);
      }),
    );
  });

  it('takes the same acid for the alkalinity as it finds alkalinity for the acid, at any fixed pH', () => {
    fc.assert(
      fc.property(water, number(3.5, 5.5), (of, phFree) => {
        const titration = {
          chemistry: titrationChemistry(of.salinity, of.temperature_C),
          sample_g: of.mass_g,
          acid_mol_kg: 0.1,
          carbon: of.isClosed
            ? ({ kind: 'closed', dic_umol_kg: of.dicShare * of.totalAlkalinity_umol_kg } as const)
            : ({ kind: 'open', dissolvedCo2_umol_kg: 12 } as const),
        };
        const acid_g = acidToPh(titration, of.totalAlkalinity_umol_kg, phFree);
        const back = alkalinityFromAcidToPh(titration, acid_g, phFree);
        expect(Math.abs(back / of.totalAlkalinity_umol_kg - 1)).toBeLessThan(1e-12);
      }),
    );
  });

  it('finds calcium and magnesium that add to the hardness, or refuses', () => {
    const titration = fc.record({ sample_mL: fc.double(), predilutionFactor: fc.double(), edta_mol_L: fc.double() });
    fc.assert(
      fc.property(titration, fc.double(), fc.double(), (of, calcium_mL, total_mL) => {
        try {
          const calcium = calciumFromEdta(of, calcium_mL);
          const magnesium = magnesiumByDifference(of, calcium_mL, total_mL);
          const perMl = (1000 * of.edta_mol_L * of.predilutionFactor) / of.sample_mL;
          expect(calcium.mmol_L + magnesium.mmol_L).toBeCloseTo(perMl * total_mL, 6);
          for (const each of [...Object.values(calcium), ...Object.values(magnesium)])
            expect(each).toSatisfy(Number.isFinite);
        } catch (error) {
          if (!(error instanceof OutOfRange)) throw error;
        }
      }),
    );
  });

  it('is never surer of a test than of its largest part, and no less sure after more repeats', () => {
    fc.assert(
      fc.property(
        number(0.1, 10),
        number(0, 0.2),
        number(0, 0.1),
        number(0, 0.05),
        (amount, resolution, repeat, relative) => {
          const test = {
            amounts: [amount],
            resolution,
            readingsForOneAmount: 1,
            repeatabilitySd: repeat,
            factor: 5,
            factorRelativeSd: relative,
          } as const;
          const once = resultFromEndPoint(test);
          const thrice = resultFromEndPoint({ ...test, amounts: [amount, amount, amount] });
          expect(once.sd).toBeGreaterThanOrEqual(once.shares[0]!.sd);
          expect(thrice.sd).toBeLessThanOrEqual(once.sd + 1e-12);
          expect(thrice.value).toBeCloseTo(once.value, 9);
        },
      ),
    );
  });
});
