import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import * as alkalinityUnit from '#rules/quantity/alkalinity-unit.ts';
import * as amount from '#rules/quantity/amount.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import * as calcification from '#rules/seawater/calcification.ts';
import { aragoniteKspMucci1983, calciteKspMucci1983 } from '#rules/seawater/calcium-carbonate.ts';
import { fugacityOverPressureWeiss1974, solubilityK0Weiss1974 } from '#rules/seawater/carbon-dioxide-gas.ts';
import * as constants from '#rules/seawater/carbonate-constants.ts';
import { carbonateFromAlkalinityAndDic, carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { cellFactorFromStandard } from '#rules/seawater/conductivity-cell.ts';
import * as probe from '#rules/seawater/conductivity-probe.ts';
import { kclConductivity_mS_cm, kclShown_mS_cm } from '#rules/seawater/conductivity-standard.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import * as hydrometer from '#rules/seawater/hydrometer.ts';
import { nernstSlope_mV_per_pH } from '#rules/seawater/nernst.ts';
import { bufferPh } from '#rules/seawater/ph-buffer.ts';
import * as electrode from '#rules/seawater/ph-electrode.ts';
import { convertPh, totalPhFromNbs } from '#rules/seawater/ph-scale.ts';
import * as salinity from '#rules/seawater/practical-salinity.ts';
import * as composition from '#rules/seawater/seawater-composition.ts';
import * as gravity from '#rules/seawater/specific-gravity.ts';

/** A formula of one to four numbers; an object result is checked in all of its numbers. */
type Formula = (a: number, b: number, c: number, d: number) => unknown;

const calibration = electrode.calibratePhElectrode([
  { buffer: { ph: 7 }, potential_mV: 3, temperature_C: 25 },
  { buffer: { ph: 10 }, potential_mV: -170, temperature_C: 25 },
]);

const formulas: Record<string, Formula> = {
  practicalSalinity: salinity.practicalSalinityFromConductivity,
  conductivity: salinity.conductivityFromPracticalSalinity,
  fromDisplay: probe.conductivityFromLinearCompensation,
  density: densityFromSalinityEos80,
  salinityFromDensity: gravity.salinityFromDensityEos80,
  gravity: (s, seawater_C, pureWater_C) => gravity.specificGravityFromSalinity(s, { seawater_C, pureWater_C }),
  gravity25: gravity.specificGravity25FromSalinity,
  salinityFromGravity: (g, seawater_C, pureWater_C) =>
    gravity.salinityFromSpecificGravity(g, { seawater_C, pureWater_C }),
  hydrometer: (reading, t, expansion_per_C, seawater_C) =>
    hydrometer.salinityFromHydrometer(reading, t, { pair: { seawater_C, pureWater_C: 20 }, expansion_per_C }),
  kcl: (t) => kclConductivity_mS_cm('kcl_1413uS', t),
  kclShown: (t) => kclShown_mS_cm('kcl_0.01_molal', t),
  cellKcl: (shown, t, u) => cellFactorFromStandard(shown, t, u, { kcl: 'kcl_12.88mS' }),
  cellSeawater: (shown, t, seawaterSalinity, salinityStandardUncertainty) =>
    cellFactorFromStandard(shown, t, 0.1, { seawaterSalinity, salinityStandardUncertainty }),
  k1: constants.carbonicK1Lueker2000,
  k2: constants.carbonicK2Lueker2000,
  kb: constants.boricKbDickson1990,
  kw: constants.waterKwMillero1995,
  ks: constants.bisulfateKsDickson1990,
  kf: constants.fluorideKfDicksonRiley1979,
  k0: solubilityK0Weiss1974,
  fugacity: fugacityOverPressureWeiss1974,
  kspAragonite: aragoniteKspMucci1983,
  kspCalcite: calciteKspMucci1983,
  boron: composition.totalBoronUppstrom1974_umol_kg,
  boronLee: composition.totalBoronLee2010_umol_kg,
  sulfate: composition.totalSulfate_umol_kg,
  fluoride: composition.totalFluoride_umol_kg,
  calcium: composition.calciumFromSalinity_umol_kg,
  alkalinityAndPh: (s, temperature_C, totalAlkalinity_umol_kg, phTotal) =>
    carbonateFromAlkalinityAndPh({ salinity: s, temperature_C, totalAlkalinity_umol_kg, phTotal }),
  alkalinityAndDic: (s, temperature_C, totalAlkalinity_umol_kg, dic_umol_kg) =>
    carbonateFromAlkalinityAndDic({ salinity: s, temperature_C, totalAlkalinity_umol_kg, dic_umol_kg }),
  testedCalcium: (calcium_mg_L, temperature_C, phTotal, totalAlkalinity_umol_kg) =>
    carbonateFromAlkalinityAndPh({ salinity: 35, temperature_C, phTotal, totalAlkalinity_umol_kg, calcium_mg_L }),
  convertPh: (ph, s, temperature_C) => convertPh(ph, 'nbs', 'free', { salinity: s, temperature_C }),
  totalPh: (ph, s, temperature_C, standardUncertainty_pH) =>
    totalPhFromNbs({ ph, standardUncertainty_pH }, { salinity: s, temperature_C }),
  nernst: nernstSlope_mV_per_pH,
  buffer: (t) => bufferPh('borax', t),
  calibrate1: (ph, potential_mV, temperature_C) =>
    electrode.calibratePhElectrode([{ buffer: { ph }, potential_mV, temperature_C }]),
  calibrate2: (ph, potential_mV, temperature_C, other_mV) =>
    electrode.calibratePhElectrode([
      { buffer: { ph }, potential_mV, temperature_C },
      { buffer: { ph: 7 }, potential_mV: other_mV, temperature_C: 25 },
    ]),
  calibrate3: (ph, potential_mV, buffer_pH, other_mV) =>
    electrode.calibratePhElectrode(
      [
        { buffer: { ph }, potential_mV, temperature_C: 25 },
        { buffer: 'borax', potential_mV: other_mV, temperature_C: 25 },
        { buffer: { ph: 7 }, potential_mV: 0, temperature_C: 25 },
      ],
      { buffer_pH, potential_mV: 0.5 },
    ),
  reading: (potential_mV, t, u) => electrode.phFromPotential(calibration, potential_mV, t, u),
  shownPotential: electrode.potentialFromShownPh,
  meqPerLFromDkh: alkalinityUnit.meqPerLFromDkh,
  dkhFromMeqPerL: alkalinityUnit.dkhFromMeqPerL,
  umolPerKg: amount.umolPerKgFromMmolPerL,
  calciumUsed: calcification.calciumUsed_mg_LFromAlkalinityUsed,
};

/** Any double at all, with what lies in and just outside the formulas' ranges made frequent. */
const anyNumber = fc.oneof(
  { weight: 3, arbitrary: fc.double({ min: -3, max: 50, noNaN: true }) },
  { weight: 1, arbitrary: fc.double({ min: 0.99, max: 1.05, noNaN: true }) },
  { weight: 1, arbitrary: fc.double({ min: 100, max: 3000, noNaN: true }) },
  { weight: 1, arbitrary: fc.double() },
  {
    weight: 1,
    arbitrary: fc.constantFrom(0, -0, 5e-324, 1.7e308, -1.7e308, Number.NaN, Infinity, -Infinity, 2, 35, 42, 43),
  },
);

describe('a formula', () => {
  for (const [name, formula] of Object.entries(formulas)) {
    it(`never shows NaN or an infinity, only a number or a refusal: ${name}`, () => {
      fc.assert(
        fc.property(anyNumber, anyNumber, anyNumber, anyNumber, (a, b, c, d) => {
          let result: unknown;
          try {
            result = formula(a, b, c, d);
          } catch (error) {
            expect(error).toBeInstanceOf(OutOfRange);
            return;
          }
          demandFinite(result);
        }),
        { numRuns: 300 },
      );
    });
  }
});

function demandFinite(result: unknown): void {
  if (typeof result === 'number') expect(Number.isFinite(result)).toBe(true);
  else if (typeof result === 'object' && result !== null) for (const part of Object.values(result)) demandFinite(part);
  else expect(typeof result).toBe('number');
}
