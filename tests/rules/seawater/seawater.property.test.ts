import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { rootInBracket } from '#rules/seawater/bracketed-root.ts';
import { carbonateFromAlkalinityAndDic, carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { salinityFromHydrometer, sodaLimeExpansion_per_C } from '#rules/seawater/hydrometer.ts';
import { calibratePhElectrode, phFromPotential } from '#rules/seawater/ph-electrode.ts';
import { convertPh, type PhScale } from '#rules/seawater/ph-scale.ts';
import {
  conductivityFromPracticalSalinity,
  practicalSalinityFromConductivity,
} from '#rules/seawater/practical-salinity.ts';
import {
  salinityFromSpecificGravity,
  specificGravityFromSalinity,
  specificGravityPairs,
} from '#rules/seawater/specific-gravity.ts';
import { alkalinityOfPhAndDic_umol_kg } from './alkalinity-of-ph-and-dic.ts';
import { hydrometerFromSalinity } from './hydrometer-shows.ts';

/** Any double from low to high, both ends among them. */
const between = (low: number, high: number) => fc.double({ min: low, max: high, noNaN: true });

describe('practical salinity', () => {
  it('comes back from its own conductivity, from fresh to 42, icy to warm', () => {
    fc.assert(
      fc.property(between(0, 42), between(-2, 35), (salinity, temperature_C) => {
        const conductivity_mS_cm = conductivityFromPracticalSalinity(salinity, temperature_C);
        expect(practicalSalinityFromConductivity(conductivity_mS_cm, temperature_C)).toBeCloseTo(salinity, 10);
      }),
      { numRuns: 1000 },
    );
  });

  it('rises with conductivity, across the joint at 2 as well, and with cold at the same conductivity', () => {
    fc.assert(
      fc.property(between(0.001, 41.9), between(1e-4, 0.1), between(-2, 34.9), (salinity, more, temperature_C) => {
        const less_mS_cm = conductivityFromPracticalSalinity(salinity, temperature_C);
        const more_mS_cm = conductivityFromPracticalSalinity(salinity + more, temperature_C);
        expect(more_mS_cm).toBeGreaterThan(less_mS_cm);
        expect(practicalSalinityFromConductivity((less_mS_cm + more_mS_cm) / 2, temperature_C)).toBeGreaterThan(
          salinity,
        );
        expect(conductivityFromPracticalSalinity(salinity, temperature_C + 0.1)).toBeGreaterThan(less_mS_cm);
      }),
      { numRuns: 500 },
    );
  });

  it('has no step at 2, where Hill’s formula takes over', () => {
    fc.assert(
      fc.property(between(-2, 35), (temperature_C) => {
        const joint_mS_cm = conductivityFromPracticalSalinity(2, temperature_C);
        const below = practicalSalinityFromConductivity(joint_mS_cm * (1 - 1e-9), temperature_C);
        const above = practicalSalinityFromConductivity(joint_mS_cm * (1 + 1e-9), temperature_C);
        expect(above - below).toBeGreaterThan(0);
        expect(above - below).toBeLessThan(1e-8);
      }),
    );
  });
});

describe('density and specific gravity', () => {
  it('rise with salinity, and the salinity comes back from either', () => {
    const pair = fc.constantFrom(...Object.values(specificGravityPairs), { seawater_C: 25, pureWater_C: 4 });
    fc.assert(
      fc.property(
        between(0, 41.9),
        between(0.001, 0.1),
        between(-2, 40),
        pair,
        (salinity, more, temperature_C, scale) => {
          const density_kg_m3 = densityFromSalinityEos80(salinity, temperature_C);
          expect(densityFromSalinityEos80(salinity + more, temperature_C)).toBeGreaterThan(density_kg_m3);
          const gravity = specificGravityFromSalinity(salinity, scale);
          expect(salinityFromSpecificGravity(gravity, scale)).toBeCloseTo(salinity, 9);
          const glass = { pair: scale, expansion_per_C: sodaLimeExpansion_per_C };
          const reading = hydrometerFromSalinity(salinity, temperature_C, glass);
          expect(salinityFromHydrometer(reading, temperature_C, glass)).toBeCloseTo(salinity, 9);
        },
      ),
      { numRuns: 500 },
    );
  });
});

describe('the carbonate system', () => {
  const water = fc.record({
    salinity: between(19, 43),
    temperature_C: between(5, 35),
    boronOption: fc.constantFrom('uppstrom1974' as const, 'lee2010' as const),
  });

  it('is the same water from any two of alkalinity, DIC and pH', () => {
    fc.assert(
      fc.property(water, between(5, 10), between(10, 20_000), (state, phTotal, dic_umol_kg) => {
        const totalAlkalinity_umol_kg = alkalinityOfPhAndDic_umol_kg({ ...state, phTotal, dic_umol_kg });
        fc.pre(totalAlkalinity_umol_kg >= 100 && totalAlkalinity_umol_kg <= 10_000);
        const fromPh = carbonateFromAlkalinityAndPh({ ...state, phTotal, totalAlkalinity_umol_kg });
        const fromDic = carbonateFromAlkalinityAndDic({ ...state, dic_umol_kg, totalAlkalinity_umol_kg });
        // Borate and hydroxide can exceed alkalinity a hundredfold at pH 10; what is left over loses those digits.
        expect(Math.abs(fromPh.dic_umol_kg - dic_umol_kg)).toBeLessThan(1e-8 * Math.max(dic_umol_kg, 100));
        expect(fromDic.phTotal).toBeCloseTo(phTotal, 9);
      }),
      { numRuns: 1000 },
    );
  });

  it('answers for every alkalinity and DIC that a reef can have, and its carbon adds up', () => {
    fc.assert(
      fc.property(water, between(1000, 6000), between(0.7, 1.1), (state, totalAlkalinity_umol_kg, ratio) => {
        const dic_umol_kg = totalAlkalinity_umol_kg * ratio;
        const found = carbonateFromAlkalinityAndDic({ ...state, totalAlkalinity_umol_kg, dic_umol_kg });
        expect(found.co2_umol_kg + found.hco3_umol_kg + found.co3_umol_kg).toBeCloseTo(dic_umol_kg, 7);
        expect(found.totalAlkalinity_umol_kg).toBeCloseTo(totalAlkalinity_umol_kg, 6);
      }),
      { numRuns: 500 },
    );
  });

  // Above that, borate and hydroxide take so much of a low alkalinity that carbonate falls again.
  it('loses pCO2 and gains saturation as pH rises at the same alkalinity: room air is told from a need to dose', () => {
    fc.assert(
      fc.property(water, between(1500, 6000), between(7, 8.4), between(1e-3, 0.2), (state, alkalinity, ph, more) => {
        const totalAlkalinity_umol_kg = alkalinity;
        const low = carbonateFromAlkalinityAndPh({ ...state, totalAlkalinity_umol_kg, phTotal: ph });
        const high = carbonateFromAlkalinityAndPh({ ...state, totalAlkalinity_umol_kg, phTotal: ph + more });
        expect(high.pco2_uatm).toBeLessThan(low.pco2_uatm);
        expect(high.dic_umol_kg).toBeLessThan(low.dic_umol_kg);
        expect(high.omegaAragonite).toBeGreaterThan(low.omegaAragonite);
      }),
      { numRuns: 300 },
    );
  });

  it('takes a pH to any scale and back', () => {
    const scale = fc.constantFrom<PhScale>('total', 'seawater', 'free', 'nbs');
    fc.assert(
      fc.property(between(3, 11), scale, scale, water, (ph, from, to, state) => {
        expect(convertPh(convertPh(ph, from, to, state), to, from, state)).toBeCloseTo(ph, 12);
      }),
    );
  });
});

describe('a pH electrode', () => {
  it('reads each of its two buffers as that buffer, whatever its slope and offset', () => {
    fc.assert(
      fc.property(between(0.7, 1.1), between(-80, 80), between(5, 45), between(5, 45), (share, offset, t1, t2) => {
        const points = [
          { buffer: 'phosphate_equimolal' as const, temperature_C: t1, potential_mV: offset },
          { buffer: 'borax' as const, temperature_C: t2, potential_mV: offset - share * 135 },
        ];
        const calibration = calibratePhElectrode(points);
        for (const point of points) {
          const found = phFromPotential(calibration, point.potential_mV, point.temperature_C, 0);
          const again = calibratePhElectrode([
            { ...point, buffer: { ph: found.ph } },
            points[0] === point ? points[1]! : points[0]!,
          ]);
          expect(again.slopeShare).toBeCloseTo(calibration.slopeShare, 9);
          expect(found.standardUncertainty_pH).toBeGreaterThan(0.009);
        }
      }),
    );
  });
});

describe('the root finder', () => {
  it('ends on the root of a steep, flat or kinked rising curve', () => {
    fc.assert(
      fc.property(
        between(-10, 10),
        between(1e-6, 1e6),
        fc.constantFrom(1, 3, 5),
        between(0, 1e3),
        (root, gain, power, kink) => {
          const curve = (x: number) => gain * (x - root) ** power * (x > root ? 1 : kink + 1e-3);
          expect(Math.abs(rootInBracket('x', curve, -10, 10) - root)).toBeLessThan(1e-9);
        },
      ),
      { numRuns: 1000 },
    );
  });
});
