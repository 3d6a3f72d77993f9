import { describe, expect, it } from 'vitest';
import { cellFactorFromStandard } from '#rules/seawater/conductivity-cell.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { calibratePhElectrode, type PhCalibration, phFromPotential } from '#rules/seawater/ph-electrode.ts';
import { convertPh, type PhScale } from '#rules/seawater/ph-scale.ts';
import { salinityFromDensityEos80 } from '#rules/seawater/specific-gravity.ts';

/** RT ln 10 / F at 25 and 45 °C, mV (CODATA 2018). */
const slope25 = 59.15935;
const slope45 = 63.127778;
const at = (ph: number, potential_mV: number, temperature_C = 25) => ({ buffer: { ph }, potential_mV, temperature_C });

describe('a calibration worked by hand', () => {
  it('three buffers that lie off one line have another misfit, or are told as sure as if they fitted', () => {
    // An electrode of 90 % of the ideal slope that reads 3 mV too much at pH 7, 0 too much at 4 and 10: by least squares the line
    // lies 1 mV higher, and the rests are −1, 2 and −1 mV.
    const share = 0.9 * slope25;
    const calibration = calibratePhElectrode([at(4, 3 * share), at(7, 3), at(10, -3 * share)]);
    expect(calibration.slopeShare).toBeCloseTo(0.9, 6);
    expect(calibration.offset_mV).toBeCloseTo(1, 4);
    expect(calibration.worstResidual_pH).toBeCloseTo(2 / share, 6);
    // Variance of a point: 0.5² mV² and 0.01 pH; Birge ratio: 6 mV² over it, widening when above 1.
    const variance = 0.25 + (0.01 * slope25) ** 2;
    const spread = 2 * (3 * slope25) ** 2;
    expect(calibration.variance.share).toBeCloseTo(((6 / variance) * variance) / spread, 8);
    expect(calibration.variance.offset).toBeCloseTo((6 / variance) * (variance / 3), 4);
    expect(calibration.variance.covariance).toBeCloseTo(0, 6);
    // The same with a meter so coarse that the misfit says nothing.
    const coarse = calibratePhElectrode([at(4, 3 * share), at(7, 3), at(10, -3 * share)], {
      buffer_pH: 0.01,
      potential_mV: 5,
    });
    expect(coarse.variance.share).toBeCloseTo((25 + (0.01 * slope25) ** 2) / spread, 8);
  });

  it('two buffers at two temperatures are as sure as the colder', () => {
    const calibration = calibratePhElectrode([at(7, 0), at(9, -2 * slope45, 45)]);
    expect(calibration).toMatchObject({ slopeShare: expect.closeTo(1, 6), worstResidual_pH: 0, points: 2 });
    const variance = 0.25 + (0.01 * slope45) ** 2;
    expect(calibration.variance.share * ((2 * slope45) ** 2 / 2)).toBeCloseTo(variance, 6);
    expect(calibration.variance.offset).toBeCloseTo(variance, 6);
    expect(calibration.variance.covariance).toBeCloseTo(variance / (2 * slope45), 6);
    // Two buffers cannot tell how far they are off.
    for (const mV of [-101.3, -117.77, -103.1])
      expect(calibratePhElectrode([at(7, 1.1), at(9, mV)]).worstResidual_pH).toBe(0);
  });

  it('a weak slope, its doubt and how the two hang together do not reach the pH', () => {
    const worn = (variance: PhCalibration['variance']): PhCalibration => ({
      ...{ offset_mV: 10, slopeShare: 0.5, points: 2, worstResidual_pH: 0, variance },
    });
    const mV = 10 - 3 * 0.5 * slope25;
    const doubt = (variance: PhCalibration['variance'], reading_mV = 0) =>
      phFromPotential(worn(variance), mV, 25, reading_mV).standardUncertainty_pH;
    expect(phFromPotential(worn({ offset: 0, share: 0, covariance: 0 }), mV, 25, 0).ph).toBeCloseTo(10, 5);
    // By hand: 3 pH from 7, so 1 % of the slope is 0.01 / 0.5 × 3; 2 mV are 2 / (0.5 × 59.16).
    expect(doubt({ offset: 0, share: 1e-4, covariance: 0 })).toBeCloseTo(0.06, 6);
    expect(doubt({ offset: 4, share: 0, covariance: 0 })).toBeCloseTo(2 / (0.5 * slope25), 6);
    expect(doubt({ offset: 0, share: 0, covariance: 0 }, 2)).toBeCloseTo(2 / (0.5 * slope25), 6);
    // Fully bound together they cancel or add.
    const one = 2 / (0.5 * slope25);
    expect(doubt({ offset: 4, share: 1e-4, covariance: -0.02 })).toBeCloseTo(one + 0.06, 6);
    expect(doubt({ offset: 4, share: 1e-4, covariance: 0.02 })).toBeCloseTo(Math.abs(one - 0.06), 6);
  });
});

describe('the very edges', () => {
  it('a conductivity standard at an end of its table cannot be checked', () => {
    // About 2 % a degree at every end: 0.5 °C of doubt is worth about 1 %.
    for (const [kcl, temperature_C, shown] of [
      ['kcl_1413uS', 10, 1.02],
      ['kcl_1413uS', 30, 1.552],
      ['kcl_0.01_molal', 0, 0.773],
      ['kcl_0.01_molal', 50, 2.123],
      ['kcl_0.1_demal', 15, 10.455],
      ['kcl_0.1_demal', 35, 15.353],
    ] as const) {
      const check = cellFactorFromStandard(shown, temperature_C, 0.5, { kcl });
      expect(check.factor).toBeCloseTo(1, 2);
      expect(check.standardUncertainty_percent).toBeGreaterThan(0.6);
      expect(check.standardUncertainty_percent).toBeLessThan(1.6);
    }
    for (const seawaterSalinity of [2, 42])
      expect(
        cellFactorFromStandard(seawaterSalinity < 3 ? 3.8 : 62, 25, 0, {
          seawaterSalinity,
          salinityStandardUncertainty: 0.1,
        }).standardUncertainty_percent /
          (100 * (0.1 / seawaterSalinity)),
      ).toBeCloseTo(0.93, 1);
  });

  it('a density that misses fresh or the saltiest water by its last digit has no salinity', () => {
    for (const [salinity, off] of [
      [0, -5e-10],
      [42, 5e-10],
      [0, 0],
      [42, 0],
    ] as const)
      expect(salinityFromDensityEos80(densityFromSalinityEos80(salinity, 25) + off, 25)).toBe(salinity);
  });

  it('a pH that stays on its scale changes', () => {
    for (const scale of ['total', 'seawater', 'free', 'nbs'] as PhScale[])
      expect(convertPh(8.123, scale, scale, { salinity: 35, temperature_C: 25 })).toBe(8.123);
  });
});
