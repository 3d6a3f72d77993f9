import { interpolate, type Table } from '../quantity/table-interpolation.ts';

/**
 * Primary pH buffers: [°C, pH(S)]. These are the reference buffers, not the "7.00" and "10.00" sold for most meters: the
 * values of those stand on the bottle, for each temperature.
 *
 * @source NBS/NIST-IUPAC: Bates 1962, J. Res. NBS 66A:179; Staples & Bates 1969, J. Res. NBS 73A:37 (carbonate); IUPAC
 *   recommendations 1985 and 2002 (Buck et al., Pure Appl. Chem. 74:2169). `phthalate_hetzer1977`: Hetzer, Durst, Robinson
 *   & Bates 1977, another assignment for the same phthalate buffer, up to 0.010 apart. Checked against
 *   fixtures/reference/ph-buffers.csv
 */
const bufferTables = {
  // KH phthalate 0.05 mol/kg
  phthalate_iupac: [
    [0, 4.0],
    [5, 3.998],
    [10, 3.997],
    [15, 3.998],
    [20, 4.001],
    [25, 4.005],
    [30, 4.011],
    [35, 4.018],
    [37, 4.022],
    [40, 4.027],
    [45, 4.038],
    [50, 4.05],
  ],
  // KH2PO4 0.025 mol/kg + Na2HPO4 0.025 mol/kg
  phosphate_equimolal: [
    [0, 6.984],
    [5, 6.951],
    [10, 6.923],
    [15, 6.9],
    [20, 6.881],
    [25, 6.865],
    [30, 6.853],
    [35, 6.844],
    [37, 6.841],
    [40, 6.838],
    [45, 6.834],
    [50, 6.833],
  ],
  // Na2B4O7.10H2O 0.01 mol/kg
  borax: [
    [0, 9.464],
    [5, 9.395],
    [10, 9.332],
    [15, 9.276],
    [20, 9.225],
    [25, 9.18],
    [30, 9.139],
    [35, 9.102],
    [37, 9.088],
    [40, 9.068],
    [45, 9.038],
    [50, 9.01],
  ],
  // NaHCO3 0.025 mol/kg + Na2CO3 0.025 mol/kg
  carbonate: [
    [0, 10.317],
    [5, 10.245],
    [10, 10.179],
    [15, 10.118],
    [20, 10.062],
    [25, 10.012],
    [30, 9.966],
    [35, 9.925],
    [37, 9.91],
    [40, 9.889],
    [45, 9.857],
    [50, 9.828],
  ],
  // KH phthalate 0.05 mol/kg
  phthalate_hetzer1977: [
    [0, 4.0101],
    [5, 4.0036],
    [10, 4.0001],
    [15, 3.9995],
    [20, 4.0015],
    [25, 4.0059],
    [30, 4.0124],
    [35, 4.0209],
    [37, 4.0248],
    [40, 4.0312],
    [45, 4.0431],
    [50, 4.0566],
  ],
} as const satisfies Record<string, Table>;

export type PrimaryBuffer = keyof typeof bufferTables;

/** The names of the primary buffers. */
export const primaryBuffers = Object.keys(bufferTables) as PrimaryBuffer[];

/**
 * pH of a primary buffer at its own temperature, between rows by a cubic (good to 0.01).
 *
 * @param buffer  one of primaryBuffers
 * @param temperature_C  of the buffer, not of the aquarium; 0 to 50 °C
 * @returns pH(S), no unit
 * @throws OutOfRange  for a temperature outside the table
 * @source bufferTables
 */
export function bufferPh(buffer: PrimaryBuffer, temperature_C: number): number {
  return interpolate('temperature of the buffer, °C', bufferTables[buffer], temperature_C);
}
