import { meqPerLPerDkh, mgPerLCaCO3PerMeqPerL } from './alkalinity-unit.ts';
import type { AnalyteData } from './analyte-data.ts';
import { atomicWeight_g_mol, molarMass_g_mol } from './atomic-weights.ts';
import { hardnessIon, ion, traceIon } from './unit-forms.ts';

const nitrate_g_mol = molarMass_g_mol({ N: 1, O: 3 });
const phosphate_g_mol = molarMass_g_mol({ P: 1, O: 4 });
const nitrogenAsNitrate = nitrate_g_mol / atomicWeight_g_mol.N;
const phosphorusAsPhosphate = phosphate_g_mol / atomicWeight_g_mol.P;

/**
 * The analytes that people test and dose, in the order in which they are listed. To add one: an entry here.
 *
 * @source common practice, no published source (ranges, spread of kits and of new water, limits). Calcium follows alkalinity at
 *   7.147 mg/L for each dKH (CaCO3; fixtures/reference/dosing-stoichiometry.csv); magnesium at a tenth of calcium or less (from memory).
 */
export const analyteTable = {
  alkalinity: {
    label: 'Alkalinity',
    unit: 'dKH',
    decimals: 2,
    testRange: [0, 25],
    unitEnding: '_dkh',
    units: [
      { name: 'dKH', factor: 1, also: ['°dKH', '°KH', 'KH'] },
      { name: 'meq/L', factor: 1 / meqPerLPerDkh, also: ['mval/L', 'mEq/L'] },
      { name: 'mg/L CaCO3', factor: 1 / mgPerLCaCO3PerMeqPerL / meqPerLPerDkh, also: ['ppm CaCO3'] },
      // Of charge: one mole of HCO3- is one equivalent.
      { name: 'µeq/L', factor: 1 / meqPerLPerDkh / 1000, also: ['µmol/L'] },
    ],
    kitUnits: ['dKH', 'meq/L', 'mg/L CaCO3'],
    checks: { failBelow: 0, failAbove: 30, suspectBelow: 2, suspectAbove: 20 },
    outOfBand: 'high',
    testEveryDays: 7,
    quantity: 'alkalinity_dKH',
    demand: {
      usualTestSd: 0.15,
      outlierSd: 1.2,
      jumpSd: 1.5,
      levelSd: 0.005,
      newWater: { level: 8, sd: 1.5 },
      firstDemand: 1,
      firstDemandSd: 2,
      leastDemand: 0.2,
    },
    advice: { mostPerDay: 0.5, askedAbovePerDay: 1.4, testGoodForDays: 5, rhythmDays: 2 },
  },
  calcium: {
    label: 'Calcium',
    unit: 'mg/L',
    decimals: 0,
    testRange: [0, 1000],
    unitEnding: '_mg_l',
    units: hardnessIon(atomicWeight_g_mol.Ca),
    kitUnits: ['mg/L', 'mmol/L', 'mg/L CaCO3'],
    checks: { failBelow: 0, failAbove: 1000, suspectBelow: 200, suspectAbove: 700 },
    outOfBand: 'medium',
    testEveryDays: 14,
    quantity: 'calcium_mg_L',
    ion: { g_mol: atomicWeight_g_mol.Ca, perGram: 1000 },
    demand: {
      usualTestSd: 8,
      outlierSd: 40,
      jumpSd: 25,
      levelSd: 0.04,
      newWater: { level: 420, sd: 40 },
      firstDemand: 7,
      firstDemandSd: 14,
      leastDemand: 1.4,
    },
    advice: { mostPerDay: 15, askedAbovePerDay: 40, testGoodForDays: 10, rhythmDays: 5 },
  },
  magnesium: {
    label: 'Magnesium',
    unit: 'mg/L',
    decimals: 0,
    testRange: [0, 3000],
    unitEnding: '_mg_l',
    units: hardnessIon(atomicWeight_g_mol.Mg),
    kitUnits: ['mg/L', 'mmol/L', 'mg/L CaCO3'],
    checks: { failBelow: 0, failAbove: 3000, suspectBelow: 700, suspectAbove: 2000 },
    outOfBand: 'medium',
    testEveryDays: 30,
    quantity: 'magnesium_mg_L',
    ion: { g_mol: atomicWeight_g_mol.Mg, perGram: 1000 },
    demand: {
      usualTestSd: 25,
      outlierSd: 120,
      jumpSd: 70,
      levelSd: 0.1,
      newWater: { level: 1300, sd: 80 },
      firstDemand: 1,
      firstDemandSd: 5,
      leastDemand: 0.3,
    },
    advice: { mostPerDay: 40, askedAbovePerDay: 100, testGoodForDays: 21, rhythmDays: 7 },
  },
  nitrate: {
    label: 'Nitrate',
    unit: 'mg/L',
    decimals: 1,
    testRange: [0, 500],
    unitEnding: '_mg_l',
    units: [
      ...ion(nitrate_g_mol),
      { name: 'mg/L N', factor: nitrogenAsNitrate, also: ['mg/L NO3-N', 'ppm N', 'ppm NO3-N'] },
    ],
    kitUnits: ['mg/L', 'mg/L N'],
    checks: { failBelow: 0, failAbove: 500, suspectAbove: 200 },
    outOfBand: 'low',
    testEveryDays: 14,
    quantity: 'nitrate_mg_L',
    ion: { g_mol: nitrate_g_mol, perGram: 1000 },
    demand: {
      usualTestSd: 1,
      outlierSd: 8,
      jumpSd: 4,
      levelSd: 0.05,
      newWater: { level: 0.3, sd: 0.5 },
      firstDemand: 0.2,
      firstDemandSd: 0.8,
      leastDemand: 0.1,
      detectionLimit: 0.5,
    },
    advice: { mostPerDay: 1, askedAbovePerDay: 5, testGoodForDays: 14, rhythmDays: 7, comesWithFood: true },
  },
  phosphate: {
    label: 'Phosphate',
    unit: 'mg/L',
    decimals: 3,
    testRange: [0, 20],
    unitEnding: '_mg_l',
    units: [
      ...ion(phosphate_g_mol),
      { name: 'mg/L P', factor: phosphorusAsPhosphate, also: ['mg/L PO4-P', 'ppm P', 'ppm PO4-P'] },
      { name: 'µg/L P', factor: phosphorusAsPhosphate / 1000, also: ['µg/L PO4-P', 'ppb P', 'ppb PO4-P'] },
    ],
    kitUnits: ['mg/L', 'mg/L P', 'µg/L P'],
    checks: { failBelow: 0, failAbove: 20, suspectAbove: 5 },
    outOfBand: 'low',
    testEveryDays: 14,
    quantity: 'phosphate_mg_L',
    ion: { g_mol: phosphate_g_mol, perGram: 1000 },
    demand: {
      usualTestSd: 0.015,
      outlierSd: 0.15,
      jumpSd: 0.06,
      levelSd: 0.001,
      newWater: { level: 0.005, sd: 0.01 },
      firstDemand: 0.004,
      firstDemandSd: 0.015,
      leastDemand: 0.002,
      detectionLimit: 0.02,
    },
    advice: { mostPerDay: 0.01, askedAbovePerDay: 0.1, testGoodForDays: 14, rhythmDays: 7, comesWithFood: true },
  },
  potassium: {
    label: 'Potassium',
    unit: 'mg/L',
    decimals: 0,
    testRange: [0, 1000],
    unitEnding: '_mg_l',
    units: ion(atomicWeight_g_mol.K),
    kitUnits: ['mg/L'],
    checks: { failBelow: 0, failAbove: 1500, suspectBelow: 150, suspectAbove: 800 },
    outOfBand: 'low',
    testEveryDays: 30,
    quantity: 'potassium_mg_L',
    ion: { g_mol: atomicWeight_g_mol.K, perGram: 1000 },
    demand: {
      usualTestSd: 10,
      outlierSd: 60,
      jumpSd: 30,
      levelSd: 0.1,
      newWater: { level: 400, sd: 30 },
      firstDemand: 0.5,
      firstDemandSd: 3,
      leastDemand: 0.2,
    },
    advice: { mostPerDay: 8, askedAbovePerDay: 30, testGoodForDays: 30, rhythmDays: 14 },
  },
  iodide: {
    label: 'Iodide',
    unit: 'µg/L',
    decimals: 0,
    testRange: [0, 1000],
    unitEnding: '_ug_l',
    units: traceIon(atomicWeight_g_mol.I),
    kitUnits: ['µg/L', 'mg/L'],
    checks: { failBelow: 0, failAbove: 2000, suspectAbove: 500 },
    outOfBand: 'low',
    testEveryDays: 60,
    quantity: 'iodide_ug_L',
    ion: { g_mol: atomicWeight_g_mol.I, perGram: 1e6 },
    demand: {
      usualTestSd: 10,
      outlierSd: 60,
      jumpSd: 30,
      levelSd: 0.3,
      newWater: { level: 60, sd: 30 },
      firstDemand: 1,
      firstDemandSd: 4,
      leastDemand: 0.3,
      detectionLimit: 10,
    },
    advice: { mostPerDay: 5, askedAbovePerDay: 20, testGoodForDays: 30, rhythmDays: 14 },
  },
} as const satisfies Record<string, AnalyteData>;

export type TestedAnalyte = keyof typeof analyteTable;

export const testedAnalytes = Object.keys(analyteTable) as TestedAnalyte[];

export function isTestedAnalyte(metric: string): metric is TestedAnalyte {
  return Object.hasOwn(analyteTable, metric);
}

/** All of one. */
export function analyteData(analyte: TestedAnalyte): AnalyteData {
  return analyteTable[analyte];
}

/** One fact of each, by its name. */
export function ofEachAnalyte<Fact>(fact: (data: AnalyteData) => Fact): Record<TestedAnalyte, Fact> {
  return Object.fromEntries(testedAnalytes.map((analyte) => [analyte, fact(analyteData(analyte))])) as Record<
    TestedAnalyte,
    Fact
  >;
}
