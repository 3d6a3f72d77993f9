import { interpolate, type Table } from '../quantity/table-interpolation.ts';

/** A conductivity standard of a table: [°C, mS/cm], and within what share its values are good. */
type StandardTable = {
  composition: string;
  tolerance_percent: number;
  /** The conductivity of the water itself was subtracted in the table, so a probe in the beaker shows it on top. */
  isWaterSubtracted: boolean;
  rows: Table;
};

/**
 * Potassium chloride standards.
 *
 * @source `molal`: IUPAC technical report 2001 (Pratt, Koch, Wu & Berezansky, Pure Appl. Chem. 73:1783) as reprinted in the
 *   CRC Handbook p. 5-73, ITS-90; its water subtracted. `demal` (the solutions of OIML R 56) and the nominal working
 *   standards: a laboratory meter's appendix, fixtures/reference/README.md. All checked against
 *   fixtures/reference/conductivity-standards.csv
 */
const kclTables = {
  'kcl_0.01_molal': {
    composition: 'KCl 0.01 mol per kg water',
    tolerance_percent: 0.03,
    isWaterSubtracted: true,
    rows: [
      [0, 0.77292],
      [5, 0.89096],
      [10, 1.01395],
      [15, 1.14145],
      [18, 1.21993],
      [20, 1.27303],
      [25, 1.40823],
      [30, 1.54663],
      [35, 1.68779],
      [40, 1.83127],
      [45, 1.97662],
      [50, 2.12343],
    ],
  },
  'kcl_0.1_molal': {
    composition: 'KCl 0.1 mol per kg water',
    tolerance_percent: 0.04,
    isWaterSubtracted: true,
    rows: [
      [0, 7.11685],
      [5, 8.1837],
      [10, 9.29172],
      [15, 10.4371],
      [18, 11.1406],
      [20, 11.6159],
      [25, 12.8246],
      [30, 14.0592],
      [35, 15.316],
      [40, 16.591],
      [45, 17.8806],
      [50, 19.1809],
    ],
  },
  kcl_1_molal: {
    composition: 'KCl 1 mol per kg water',
    tolerance_percent: 0.04,
    isWaterSubtracted: true,
    rows: [
      [0, 63.488],
      [5, 72.03],
      [10, 80.844],
      [15, 89.9],
      [20, 99.17],
      [25, 108.62],
      [30, 118.24],
      [35, 127.97],
      [40, 137.81],
      [45, 147.72],
      [50, 157.67],
    ],
  },
  'kcl_0.001_demal': {
    composition: 'KCl 0.001 D',
    tolerance_percent: 0.1,
    isWaterSubtracted: false,
    rows: [
      [15, 0.1185],
      [18, 0.1267],
      [20, 0.1322],
      [25, 0.1465],
      [35, 0.1765],
    ],
  },
  'kcl_0.01_demal': {
    composition: 'KCl 0.01 D',
    tolerance_percent: 0.1,
    isWaterSubtracted: false,
    rows: [
      [15, 1.1414],
      [18, 1.22],
      [20, 1.2737],
      [25, 1.4083],
      [35, 1.6876],
    ],
  },
  'kcl_0.1_demal': {
    composition: 'KCl 0.1 D',
    tolerance_percent: 0.1,
    isWaterSubtracted: false,
    rows: [
      [15, 10.455],
      [18, 11.163],
      [20, 11.644],
      [25, 12.852],
      [35, 15.353],
    ],
  },
  kcl_1_demal: {
    composition: 'KCl 1 D',
    tolerance_percent: 0.1,
    isWaterSubtracted: false,
    rows: [
      [15, 92.12],
      [18, 97.8],
      [20, 101.7],
      [25, 111.31],
      [35, 131.1],
    ],
  },
  kcl_84uS: {
    composition: 'nominal 84 µS/cm KCl',
    tolerance_percent: 1,
    isWaterSubtracted: false,
    rows: [
      [10, 0.06034],
      [15, 0.06761],
      [20, 0.0758],
      [25, 0.084],
      [30, 0.09219],
    ],
  },
  kcl_1413uS: {
    composition: 'nominal 1413 µS/cm KCl (0.01 mol/L)',
    tolerance_percent: 0.3,
    isWaterSubtracted: false,
    rows: [
      [10, 1.02],
      [15, 1.147],
      [20, 1.278],
      [25, 1.413],
      [30, 1.552],
    ],
  },
  'kcl_12.88mS': {
    composition: 'nominal 12.88 mS/cm KCl (0.1 mol/L)',
    tolerance_percent: 0.3,
    isWaterSubtracted: false,
    rows: [
      [10, 9.33],
      [15, 10.48],
      [20, 11.67],
      [25, 12.88],
      [30, 14.12],
    ],
  },
} as const satisfies Record<string, StandardTable>;

export type KclStandard = keyof typeof kclTables;

/** The names of the potassium chloride standards, in the order of the sources. */
export const kclStandards = Object.keys(kclTables) as KclStandard[];

/** Conductivity of water that has stood in air: [°C, mS/cm]. @source IUPAC 2001 as above; to 1 % */
const waterInAir: Table = [
  [0, 0.00058],
  [5, 0.00068],
  [10, 0.00079],
  [15, 0.00089],
  [18, 0.00095],
  [20, 0.00099],
  [25, 0.0011],
  [30, 0.0012],
  [35, 0.0013],
  [40, 0.0014],
  [45, 0.00151],
  [50, 0.00161],
];

/**
 * Conductivity of a potassium chloride standard as tabulated, between rows by a cubic. Between 25 and 35 °C the rounding of
 * the 1 demal table leaves 0.15 %; all others keep within their tolerance between rows too.
 *
 * @param standard  one of kclStandards
 * @param temperature_C  ITS-90; within the standard's own table: `molal` 0 to 50, `demal` 15 to 35, the others 10 to 30 °C
 * @returns mS/cm at that temperature; for `molal` without the conductivity of the water itself
 * @throws OutOfRange  for a temperature outside the table
 * @source kclTables
 */
export function kclConductivity_mS_cm(standard: KclStandard, temperature_C: number): number {
  return interpolate(`temperature of ${standard}, °C`, kclTables[standard].rows, temperature_C);
}

/**
 * Conductivity of water in equilibrium with air.
 *
 * @param temperature_C  from 0 to 50 °C
 * @returns mS/cm
 * @throws OutOfRange  for a temperature outside the table
 * @source IUPAC 2001, see kclTables
 */
export function waterInAirConductivity_mS_cm(temperature_C: number): number {
  return interpolate('temperature of water in air, °C', waterInAir, temperature_C);
}

/** What a probe in this standard should show, mS/cm: the table, with the water's own share where it was subtracted. */
export function kclShown_mS_cm(standard: KclStandard, temperature_C: number): number {
  const table_mS_cm = kclConductivity_mS_cm(standard, temperature_C);
  return kclTables[standard].isWaterSubtracted
    ? table_mS_cm + waterInAirConductivity_mS_cm(temperature_C)
    : table_mS_cm;
}

/** Within what share the values of a standard are good, %. */
export function kclTolerance_percent(standard: KclStandard): number {
  return kclTables[standard].tolerance_percent;
}
