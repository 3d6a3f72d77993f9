import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { calciumUsed_mg_LFromAlkalinityUsed } from '#rules/seawater/calcification.ts';
import { aragoniteKspMucci1983, calciteKspMucci1983 } from '#rules/seawater/calcium-carbonate.ts';
import { fugacityOverPressureWeiss1974, solubilityK0Weiss1974 } from '#rules/seawater/carbon-dioxide-gas.ts';
import * as constants from '#rules/seawater/carbonate-constants.ts';
import { carbonateFromAlkalinityAndDic, carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { carbonateUncertainty, type InputUncertainty } from '#rules/seawater/carbonate-uncertainty.ts';
import { cellFactorFromStandard } from '#rules/seawater/conductivity-cell.ts';
import * as probe from '#rules/seawater/conductivity-probe.ts';
import { kclConductivity_mS_cm, waterInAirConductivity_mS_cm } from '#rules/seawater/conductivity-standard.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { densityFromHydrometer } from '#rules/seawater/hydrometer.ts';
import { nernstSlope_mV_per_pH } from '#rules/seawater/nernst.ts';
import { bufferPh } from '#rules/seawater/ph-buffer.ts';
import * as electrode from '#rules/seawater/ph-electrode.ts';
import { activityFactorTakahashi1982, convertPh, totalPhFromNbs } from '#rules/seawater/ph-scale.ts';
import {
  conductivityFromPracticalSalinity,
  practicalSalinityFromConductivity,
} from '#rules/seawater/practical-salinity.ts';
import * as composition from '#rules/seawater/seawater-composition.ts';
import {
  salinityFromDensityEos80,
  salinityFromSpecificGravity,
  specificGravityFromSalinity,
} from '#rules/seawater/specific-gravity.ts';
import { refusalOf } from '../refusal-of.ts';
import { alkalinityOfPhAndDic_umol_kg } from './alkalinity-of-ph-and-dic.ts';

const buffers: electrode.BufferPoint[] = [
  { buffer: { ph: 7 }, potential_mV: 3, temperature_C: 25 },
  { buffer: { ph: 10 }, potential_mV: -170, temperature_C: 25 },
];
const calibration = electrode.calibratePhElectrode(buffers);
const withBuffer = (change: Partial<electrode.BufferPoint>) =>
  electrode.calibratePhElectrode([{ buffer: { ph: 7 }, potential_mV: 0, temperature_C: 25, ...change }]);
const withDoubt = (change: Partial<electrode.CalibrationDoubt>) =>
  electrode.calibratePhElectrode(buffers, { ...electrode.usualDoubt, ...change });
const water = { salinity: 35, temperature_C: 25 };
const glass = { pair: { seawater_C: 20, pureWater_C: 20 }, expansion_per_C: 25e-6 };
const standard = { seawaterSalinity: 35, salinityStandardUncertainty: 0.01 };
const unsure = (inputUncertainty: InputUncertainty, given = { totalAlkalinity_umol_kg: 9000, phTotal: 8 }) =>
  carbonateUncertainty(carbonateFromAlkalinityAndPh, { ...water, ...given }, inputUncertainty, 'exact');

const gravityOf42 = specificGravityFromSalinity(42, { seawater_C: 25, pureWater_C: 25 });

type Limit = [name: string, low: number, high: number, give: (n: number) => unknown];
/** A constant of salinity and temperature with the range of its source. */
const ofWater = (f: (s: number, t: number) => number, s: [number, number], t: [number, number]): Limit[] => [
  ['practical salinity', ...s, (n) => f(n, t[0] + 1)],
  ['temperature, °C', ...t, (n) => f(s[0] + 1, n)],
];
const salinityAlone = (f: (s: number) => number): Limit => ['practical salinity', 0, 45, (n) => f(n)];

const limits: Limit[] = [
  ...ofWater(constants.carbonicK1Lueker2000, [19, 43], [2, 35]),
  ...ofWater(constants.carbonicK2Lueker2000, [19, 43], [2, 35]),
  ...ofWater(constants.boricKbDickson1990, [5, 45], [0, 45]),
  ...ofWater(constants.waterKwMillero1995, [5, 45], [0, 45]),
  ...ofWater(constants.bisulfateKsDickson1990, [5, 45], [0, 45]),
  ...ofWater(constants.fluorideKfDicksonRiley1979, [10, 45], [5, 35]),
  ...ofWater(solubilityK0Weiss1974, [0, 45], [-1, 45]),
  ...ofWater(aragoniteKspMucci1983, [5, 44], [5, 40]),
  ...ofWater(calciteKspMucci1983, [5, 44], [5, 40]),
  ...ofWater((salinity, temperature_C) => activityFactorTakahashi1982({ salinity, temperature_C }), [19, 43], [2, 35]),
  ...ofWater((salinity, temperature_C) => convertPh(8, 'nbs', 'total', { salinity, temperature_C }), [19, 43], [5, 35]),
  ...ofWater((salinity, temperature_C) => convertPh(8, 'free', 'free', { salinity, temperature_C }), [19, 43], [5, 35]),
  ...ofWater(densityFromSalinityEos80, [0, 42], [-2, 40]),
  ...ofWater(conductivityFromPracticalSalinity, [0, 42], [-2, 35]),
  ['temperature, °C', -2, 35, (n) => practicalSalinityFromConductivity(20, n)],
  [
    'specific gravity 25/25 °C',
    1,
    gravityOf42,
    (n) => salinityFromSpecificGravity(n, { seawater_C: 25, pureWater_C: 25 }),
  ],
  ['temperature, °C', -8, 45, (n) => fugacityOverPressureWeiss1974(n)],
  ['temperature, °C', -5, 100, (n) => nernstSlope_mV_per_pH(n)],
  ['pH', 2, 12, (n) => convertPh(n, 'nbs', 'free', water)],
  ['standard uncertainty of pH', 0, 10, (n) => totalPhFromNbs({ ph: 8, standardUncertainty_pH: n }, water)],
  salinityAlone(composition.totalBoronUppstrom1974_umol_kg),
  salinityAlone(composition.totalBoronLee2010_umol_kg),
  salinityAlone(composition.totalSulfate_umol_kg),
  salinityAlone(composition.totalFluoride_umol_kg),
  salinityAlone(composition.calciumFromSalinity_umol_kg),
  [
    'total alkalinity, µmol/kg',
    100,
    10_000,
    (n) => carbonateFromAlkalinityAndPh({ ...water, totalAlkalinity_umol_kg: n, phTotal: 7 }),
  ],
  [
    'pH (total scale)',
    5,
    10,
    (n) => carbonateFromAlkalinityAndPh({ ...water, totalAlkalinity_umol_kg: 9000, phTotal: n }),
  ],
  [
    'DIC, µmol/kg',
    10,
    20_000,
    (n) => carbonateFromAlkalinityAndDic({ ...water, dic_umol_kg: n, totalAlkalinity_umol_kg: n < 100 ? 300 : 9000 }),
  ],
  [
    'total alkalinity, µmol/kg',
    100,
    10_000,
    (n) => carbonateFromAlkalinityAndDic({ ...water, dic_umol_kg: n, totalAlkalinity_umol_kg: n }),
  ],
  [
    'calcium, mg/L',
    10,
    2000,
    (n) => carbonateFromAlkalinityAndPh({ ...water, totalAlkalinity_umol_kg: 2300, phTotal: 8, calcium_mg_L: n }),
  ],
  ['standard uncertainty of phTotal', 0, 5, (n) => unsure({ phTotal: n })],
  [
    'standard uncertainty of totalAlkalinity_umol_kg',
    0,
    9900,
    (n) => unsure({ totalAlkalinity_umol_kg: n }, { totalAlkalinity_umol_kg: 2300, phTotal: 7 }),
  ],
  ['standard uncertainty of temperature_C', 0, 30, (n) => unsure({ temperature_C: n })],
  ['standard uncertainty of salinity', 0, 24, (n) => unsure({ salinity: n })],
  [
    'shown conductivity, mS/cm',
    1e-6,
    1000,
    (n) => n === 1e-6 || n === 1000 || cellFactorFromStandard(n, 25, 0.1, standard),
  ],
  ['standard uncertainty of temperature, °C', 0, 5, (n) => cellFactorFromStandard(53, 25, n, standard)],
  [
    'salinity of the standard',
    2,
    42,
    (n) => cellFactorFromStandard(n < 22 ? 4 : 60, 25, 0.1, { ...standard, seawaterSalinity: n }),
  ],
  [
    'standard uncertainty of salinity',
    0,
    1,
    (n) => cellFactorFromStandard(53, 25, 0.1, { ...standard, salinityStandardUncertainty: n }),
  ],
  ['alpha, % per °C', 0, 5, (n) => probe.conductivityFromLinearCompensation(50, 24, n)],
  ['temperature, °C', -5, 50, (n) => probe.conductivityFromLinearCompensation(50, n, 2)],
  ['conductivity, mS/cm', 0, 1000, (n) => probe.conductivityFromLinearCompensation(n, 24, 2)],
  ['temperature of kcl_1413uS, °C', 10, 30, (n) => kclConductivity_mS_cm('kcl_1413uS', n)],
  ['temperature of kcl_0.01_molal, °C', 0, 50, (n) => kclConductivity_mS_cm('kcl_0.01_molal', n)],
  ['temperature of kcl_1_demal, °C', 15, 35, (n) => kclConductivity_mS_cm('kcl_1_demal', n)],
  ['temperature of water in air, °C', 0, 50, (n) => waterInAirConductivity_mS_cm(n)],
  ['temperature of the buffer, °C', 0, 50, (n) => bufferPh('borax', n)],
  ['cubic expansion, 1/°C', 0, 5e-4, (n) => densityFromHydrometer(1.02, 24, { ...glass, expansion_per_C: n })],
  ['temperature, °C', -2, 40, (n) => densityFromHydrometer(1.02, n, glass)],
  ['scale, °C', -2, 40, (n) => densityFromHydrometer(1.02, 24, { ...glass, pair: { seawater_C: n, pureWater_C: 20 } })],
  ['hydrometer reading', 0.9, 1.1, (n) => densityFromHydrometer(n, 24, glass)],
  ['standard uncertainty of a buffer, pH', 0.001, 0.5, (n) => withDoubt({ buffer_pH: n })],
  ['standard uncertainty of a potential, mV', 0.01, 50, (n) => withDoubt({ potential_mV: n })],
  ['temperature of the buffer, °C', 0, 50, (n) => withBuffer({ temperature_C: n })],
  ['pH of the buffer', 1, 13, (n) => withBuffer({ buffer: { ph: n } })],
  ['potential, mV', -1000, 1000, (n) => withBuffer({ potential_mV: n })],
  ['potential, mV', -1000, 1000, (n) => Math.abs(n) === 1000 || electrode.phFromPotential(calibration, n, 25, 0.5)],
  ['standard uncertainty of a potential, mV', 0, 50, (n) => electrode.phFromPotential(calibration, -60, 25, n)],
  ['temperature, °C', 0, 50, (n) => electrode.phFromPotential(calibration, -60, n, 0.5)],
  ['temperature, °C', 0, 50, (n) => electrode.potentialFromShownPh(8, n)],
  ['pH', 0, 14, (n) => electrode.potentialFromShownPh(n, 25)],
];

describe('a number outside the range of its formula', () => {
  it.each(limits)('is counted with, or its limits are not told: %s', (name, low, high, give) => {
    const margin = (high - low) * 1e-5;
    for (const found of [low - margin, high + margin, Number.NaN])
      expect(refusalOf(() => give(found))).toMatchObject({ quantity: name, allowed: `${low} to ${high}` });
    for (const found of [low, high]) expect(() => give(found)).not.toThrow();
  });

  it('no number at all is counted with as alkalinity used', () => {
    for (const found of [Number.NaN, Number.POSITIVE_INFINITY])
      expect(refusalOf(() => calciumUsed_mg_LFromAlkalinityUsed(found))).toMatchObject({
        quantity: 'calcium used, mg/L',
      });
  });
});

describe('an answer outside what can be', () => {
  it.each([
    ['number of buffers is 0, allowed: 1 to 3', () => electrode.calibratePhElectrode([])],
    ['number of buffers is 4, allowed: 1 to 3', () => electrode.calibratePhElectrode([...buffers, ...buffers])],
    [
      'distance between buffers, pH is 0.5, allowed: 1 to 12',
      () => electrode.calibratePhElectrode([buffers[0]!, { ...buffers[1]!, buffer: { ph: 7.5 } }]),
    ],
    [
      'distance between buffers, pH is 0.25, allowed: 1 to 12',
      () => electrode.calibratePhElectrode([...buffers, { ...buffers[1]!, buffer: { ph: 9.75 } }]),
    ],
    [
      'slope over the Nernst slope is -',
      () => electrode.calibratePhElectrode([buffers[0]!, { ...buffers[1]!, potential_mV: 170 }]),
    ],
    ['density, kg/m3 is 900, allowed: 99', () => salinityFromDensityEos80(900, 20)],
    ['density, kg/m3 is 1100, allowed: 99', () => salinityFromDensityEos80(1100, 20)],
    ['pH is 14.1', () => electrode.phFromPotential(calibration, 3 - 7.1 * 57.6667, 25, 0.5)],
    ['cell factor is 2.', () => cellFactorFromStandard(25, 25, 0.1, standard)],
    ['cell factor is 0.4', () => cellFactorFromStandard(110, 25, 0.1, standard)],
    ['allowed: 0.5 to 2', () => cellFactorFromStandard(110, 25, 0.1, standard)],
    ['shown conductivity, mS/cm is 0, allowed: 0.000001 to 1000', () => cellFactorFromStandard(0, 25, 0.1, standard)],
    ['compensation factor is -0.5, allowed: above 0', () => probe.conductivityFromLinearCompensation(50, -5, 5)],
    ['conductivity, mS/cm is 0, allowed: above 0', () => practicalSalinityFromConductivity(0, 25)],
    [
      'conductivity, mS/cm is Infinity, allowed: above 0',
      () => practicalSalinityFromConductivity(Number.POSITIVE_INFINITY, 25),
    ],
    [/^practical salinity is 4\d\.\d+, allowed: 0 to 42$/, () => practicalSalinityFromConductivity(70, 25)],
    ['allowed: 0 to 42', () => practicalSalinityFromConductivity(0.001, 25)],
    [
      /^DIC at this alkalinity and pH, µmol\/kg is -\d{2,3}\.\d+, allowed: above 0$/,
      () => carbonateFromAlkalinityAndPh({ ...water, totalAlkalinity_umol_kg: 100, phTotal: 9 }),
    ],
    [
      'pH (total scale, 5 to 10) of this alkalinity and DIC is',
      () => carbonateFromAlkalinityAndDic({ ...water, totalAlkalinity_umol_kg: 10_000, dic_umol_kg: 10 }),
    ],
  ] as [string | RegExp, () => unknown][])('is given, or the refusal does not say so: %s', (message, give) => {
    expect(give).toThrow(message);
    expect(give).toThrow(OutOfRange);
  });
});

describe('water at the very edge', () => {
  it('made at salinity 0 or 42, or at pH 5 or 10, has none when it is measured again', () => {
    for (const t of [-2, 4, 25, 35])
      for (const salinity of [0, 2, 42])
        expect(practicalSalinityFromConductivity(conductivityFromPracticalSalinity(salinity, t), t)).toBeCloseTo(
          salinity,
          9,
        );
    for (const phTotal of [5, 10])
      for (const dic_umol_kg of [500, 1900, 2100]) {
        const totalAlkalinity_umol_kg = alkalinityOfPhAndDic_umol_kg({ ...water, phTotal, dic_umol_kg });
        if (totalAlkalinity_umol_kg < 100) continue;
        const again = carbonateFromAlkalinityAndDic({ ...water, totalAlkalinity_umol_kg, dic_umol_kg });
        expect(again.phTotal).toBeCloseTo(phTotal, 6);
      }
  });
});
