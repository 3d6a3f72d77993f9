import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { nernstSlope_mV_per_pH } from './nernst.ts';
import { bufferPh, type PrimaryBuffer } from './ph-buffer.ts';
import type { PhWithUncertainty } from './ph-scale.ts';

/**
 * A glass electrode for pH: potential = offset - share × Nernst slope(T) × (pH - 7).
 *
 * The offset (potential at pH 7) is taken as the same at every temperature, so pH 7 is the point that temperature does not
 * move; makers build electrodes so. What comes out is on the scale of the buffers: NBS (NIST) as a rule. The total scale of
 * the carbonate system is reached by totalPhFromNbs, and never exactly.
 */

/** The potential in one buffer. */
export type BufferPoint = {
  /** A primary buffer by name, or the pH that stands on the bottle for this temperature. */
  buffer: PrimaryBuffer | { ph: number };
  potential_mV: number;
  /** Of the buffer itself. */
  temperature_C: number;
};

/** How sure the buffers and the meter are; standard uncertainties. */
export type CalibrationDoubt = {
  /** Of a buffer's pH, 0.001 to 0.5. */
  buffer_pH: number;
  /** Of a potential, 0.01 to 50 mV. */
  potential_mV: number;
};

/**
 * Buffers from a bottle and a plain meter. Buffers: Buck et al. 2002 (IUPAC), 0.01 to 0.02 for working standards (from
 * memory). Meter: common practice, no published source.
 */
export const usualDoubt: CalibrationDoubt = { buffer_pH: 0.01, potential_mV: 0.5 };

/**
 * Of the slope share when only one buffer was used and an ideal slope is assumed: electrodes in service lie within 0.93 to
 * 1.02 or so. common practice, no published source
 */
export const assumedShareStandardUncertainty = 0.03;

export type PhCalibration = {
  /** Potential at pH 7, mV; 0 when new. */
  offset_mV: number;
  /** Slope over the Nernst slope, no unit; 1 when ideal. */
  slopeShare: number;
  points: 1 | 2 | 3;
  /** How far the point that fits worst lies from the line, pH; 0 for one or two points, which cannot tell. */
  worstResidual_pH: number;
  /** Variances and covariance of the two: mV², 1, mV. */
  variance: { offset: number; share: number; covariance: number };
};

/** Buffers closer than this cannot tell slope from offset, pH. common practice, no published source */
const leastDistance_pH = 1;

/**
 * Calibrates an electrode from one, two or three buffers, each at its own temperature. One buffer fixes the offset with an
 * ideal slope assumed; two fix both; three by least squares, and their misfit widens the uncertainty (Birge ratio).
 *
 * @param points  one to three; potentials -1000 to 1000 mV; pH 1 to 13; temperature 0 to 50 °C
 * @param doubt  how sure buffers and meter are
 * @throws OutOfRange  for an input outside these limits, buffers that lie less than 1 pH apart, or a slope that is not
 *   within 0.2 to 1.5 of ideal: then a buffer was mistaken for another, or the wires are crossed
 * @source Nernst; least squares and JCGM 100:2008, 5.2
 */
export function calibratePhElectrode(
  points: readonly BufferPoint[],
  doubt: CalibrationDoubt = usualDoubt,
): PhCalibration {
  const count = points.length;
  if (count !== 1 && count !== 2 && count !== 3) throw new OutOfRange('number of buffers', count, '1 to 3');
  const uBuffer_pH = within('standard uncertainty of a buffer, pH', doubt.buffer_pH, 0.001, 0.5);
  const uPotential_mV = within('standard uncertainty of a potential, mV', doubt.potential_mV, 0.01, 50);
  const measured = points.map((point) => {
    const slope_mV_per_pH = nernstSlope_mV_per_pH(within('temperature of the buffer, °C', point.temperature_C, 0, 50));
    const ph = within('pH of the buffer', phOf(point), 1, 13);
    return {
      ph,
      slope_mV_per_pH,
      ideal_mV: -slope_mV_per_pH * (ph - 7),
      potential_mV: within('potential, mV', point.potential_mV, -1000, 1000),
    };
  });
  // One variance for all points: the Nernst slope differs by a few percent between buffers of one session.
  const variance = Math.max(...measured.map((point) => uPotential_mV ** 2 + (point.slope_mV_per_pH * uBuffer_pH) ** 2));
  if (count === 1) return fromOnePoint(measured[0]!, variance);
  demandDistance(measured.map((point) => point.ph));

  const meanIdeal = mean(measured.map((point) => point.ideal_mV));
  const meanPotential = mean(measured.map((point) => point.potential_mV));
  const spread = sum(measured.map((point) => (point.ideal_mV - meanIdeal) ** 2));
  const slopeShare =
    sum(measured.map((point) => (point.ideal_mV - meanIdeal) * (point.potential_mV - meanPotential))) / spread;
  within('slope over the Nernst slope', slopeShare, 0.2, 1.5);
  const offset_mV = meanPotential - slopeShare * meanIdeal;
  const residuals = measured.map((point) => ({
    mV: point.potential_mV - offset_mV - slopeShare * point.ideal_mV,
    mV_per_pH: point.slope_mV_per_pH * slopeShare,
  }));
  const misfit = count === 3 ? Math.max(1, sum(residuals.map(({ mV }) => mV ** 2)) / variance) : 1;
  return {
    offset_mV,
    slopeShare,
    points: count,
    worstResidual_pH: count === 3 ? Math.max(...residuals.map(({ mV, mV_per_pH }) => Math.abs(mV / mV_per_pH))) : 0,
    variance: {
      offset: misfit * variance * (1 / count + meanIdeal ** 2 / spread),
      share: (misfit * variance) / spread,
      covariance: (-misfit * variance * meanIdeal) / spread,
    },
  };
}

/**
 * pH from the potential of a calibrated electrode, with the uncertainty that calibration and reading leave.
 *
 * @param potential_mV  -1000 to 1000 mV, and what makes a pH from 0 to 14
 * @param temperature_C  of the water, 0 to 50 °C
 * @param potentialStandardUncertainty_mV  of this reading, 0 to 50 mV
 * @returns pH on the buffers' scale and its standard uncertainty
 * @throws OutOfRange  for an input or a pH outside these limits
 * @source Nernst; JCGM 100:2008, 5.2.2
 */
export function phFromPotential(
  calibration: PhCalibration,
  potential_mV: number,
  temperature_C: number,
  potentialStandardUncertainty_mV: number,
): PhWithUncertainty {
  within('potential, mV', potential_mV, -1000, 1000);
  const uPotential_mV = within('standard uncertainty of a potential, mV', potentialStandardUncertainty_mV, 0, 50);
  const ideal = nernstSlope_mV_per_pH(within('temperature, °C', temperature_C, 0, 50));
  const slope = calibration.slopeShare * ideal;
  const fromSeven = (calibration.offset_mV - potential_mV) / slope;
  const ph = within('pH', 7 + fromSeven, 0, 14);
  const { offset, share, covariance } = calibration.variance;
  const perShare = -fromSeven / calibration.slopeShare;
  const variance =
    (offset + uPotential_mV ** 2) / slope ** 2 + perShare ** 2 * share + (2 * perShare * covariance) / slope;
  // Rounding may leave a tiny negative where the terms cancel.
  return { ph, standardUncertainty_pH: Math.sqrt(Math.max(variance, 0)) };
}

/**
 * The potential behind a pH that a meter computed with an ideal slope at an assumed temperature: how a probe that sends pH
 * is calibrated here.
 *
 * @param shown_pH  0 to 14
 * @param assumedTemperature_C  what the meter took, 25 as a rule; 0 to 50 °C
 * @returns mV
 * @throws OutOfRange  for an input outside these limits
 * @source Nernst
 */
export function potentialFromShownPh(shown_pH: number, assumedTemperature_C: number): number {
  const slope_mV_per_pH = nernstSlope_mV_per_pH(within('temperature, °C', assumedTemperature_C, 0, 50));
  return -slope_mV_per_pH * (within('pH', shown_pH, 0, 14) - 7);
}

type Measured = { ph: number; slope_mV_per_pH: number; ideal_mV: number; potential_mV: number };

function fromOnePoint(point: Measured, variance: number): PhCalibration {
  const shareVariance = assumedShareStandardUncertainty ** 2;
  return {
    offset_mV: point.potential_mV - point.ideal_mV,
    slopeShare: 1,
    points: 1,
    worstResidual_pH: 0,
    variance: {
      offset: variance + point.ideal_mV ** 2 * shareVariance,
      share: shareVariance,
      covariance: -point.ideal_mV * shareVariance,
    },
  };
}

function phOf(point: BufferPoint): number {
  return typeof point.buffer === 'string' ? bufferPh(point.buffer, point.temperature_C) : point.buffer.ph;
}

function demandDistance(phs: readonly number[]): void {
  const sorted = phs.toSorted((one, other) => one - other);
  for (let place = 1; place < sorted.length; place += 1) {
    const distance = sorted[place]! - sorted[place - 1]!;
    within('distance between buffers, pH', distance, leastDistance_pH, 12);
  }
}

function sum(numbers: readonly number[]): number {
  return numbers.reduce((total, number) => total + number, 0);
}

function mean(numbers: readonly number[]): number {
  return sum(numbers) / numbers.length;
}
