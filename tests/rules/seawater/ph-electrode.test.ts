import { describe, expect, it } from 'vitest';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import {
  type BufferPoint,
  calibratePhElectrode,
  phFromPotential,
  potentialFromShownPh,
} from '#rules/seawater/ph-electrode.ts';
import { electrodeHealth } from '#rules/seawater/ph-electrode-health.ts';
import { seededGauss } from './seeded-gauss.ts';

// Nernst slopes of fixtures/reference/ph-buffers.csv (CODATA 2018), mV per pH.
const slope20 = 58.16724282;
const slope25 = 59.15935;

/** A potential as an electrode with this offset and share of the Nernst slope gives it. */
function potential(ph: number, slope: number, offset_mV: number, share: number): number {
  return offset_mV - share * slope * (ph - 7);
}

// pH(S): phosphate 6.881 and borax 9.225 at 20 °C, phthalate 4.005 at 25 °C (fixtures/reference/ph-buffers.csv).
const phosphate20: BufferPoint = {
  buffer: 'phosphate_equimolal',
  temperature_C: 20,
  potential_mV: potential(6.881, slope20, -12, 0.97),
};
const borax20: BufferPoint = { buffer: 'borax', temperature_C: 20, potential_mV: potential(9.225, slope20, -12, 0.97) };
const phthalate25: BufferPoint = {
  buffer: 'phthalate_iupac',
  temperature_C: 25,
  potential_mV: potential(4.005, slope25, -12, 0.97),
};

describe('calibration of a pH electrode', () => {
  it('finds slope and offset from two or three buffers, each at its own temperature', () => {
    for (const points of [
      [phosphate20, borax20],
      [phthalate25, phosphate20, borax20],
      [borax20, phthalate25],
    ]) {
      const calibration = calibratePhElectrode(points);
      expect(calibration.slopeShare).toBeCloseTo(0.97, 6);
      expect(calibration.offset_mV).toBeCloseTo(-12, 4);
      const reading = phFromPotential(calibration, potential(8.2, slope25, -12, 0.97), 25, 0.5);
      expect(reading.ph).toBeCloseTo(8.2, 6);
    }
  });

  it('with one buffer assumes an ideal slope and says how much that leaves open', () => {
    const calibration = calibratePhElectrode([phosphate20]);
    expect(calibration.slopeShare).toBe(1);
    const near = phFromPotential(calibration, phosphate20.potential_mV, 20, 0);
    expect(near.ph).toBeCloseTo(6.881, 6);
    // In the buffer itself only buffer and meter are in doubt: 0.01 pH and 0.5 mV.
    expect(near.standardUncertainty_pH).toBeCloseTo(Math.hypot(0.01, 0.5 / slope20), 4);
    const far = phFromPotential(calibration, potential(8.2, slope20, -12, 1), 20, 0);
    // 1.32 pH away from the buffer, 3 % of slope is 0.04.
    expect(far.standardUncertainty_pH).toBeCloseTo(Math.hypot(0.0132, 1.32 * 0.03), 2);
  });

  // GUM Supplement 1 (JCGM 101:2008): the same doubts drawn at random instead of propagated.
  it('states the uncertainty that 4000 repeated calibrations scatter by', () => {
    const gauss = seededGauss(20);
    const truth = phFromPotential(calibratePhElectrode([phosphate20, borax20]), -80, 25, 0.5);
    const found: number[] = [];
    for (let repeat = 0; repeat < 4000; repeat += 1) {
      const shaken = [phosphate20, borax20].map((point) => ({
        ...point,
        potential_mV: point.potential_mV + gauss() * Math.hypot(0.5, 0.01 * slope20),
      }));
      found.push(phFromPotential(calibratePhElectrode(shaken), -80 + gauss() * 0.5, 25, 0).ph);
    }
    const mean = found.reduce((sum, ph) => sum + ph, 0) / found.length;
    const deviation = Math.sqrt(found.reduce((sum, ph) => sum + (ph - mean) ** 2, 0) / (found.length - 1));
    expect(Math.abs(deviation / truth.standardUncertainty_pH - 1)).toBeLessThan(0.05);
  });

  it('widens the uncertainty when a third buffer does not lie on the line', () => {
    const straight = calibratePhElectrode([phthalate25, phosphate20, borax20]);
    const spoilt = { ...borax20, potential_mV: borax20.potential_mV + 12 };
    const bent = calibratePhElectrode([phthalate25, phosphate20, spoilt]);
    const doubt = (calibration: typeof bent) => phFromPotential(calibration, -80, 25, 0.5).standardUncertainty_pH;
    expect(bent.worstResidual_pH).toBeGreaterThan(0.05);
    expect(doubt(bent)).toBeGreaterThan(3 * doubt(straight));
  });

  it('is refused for crossed wires, the same buffer twice, no buffer or a potential no electrode has', () => {
    const crossed = [phosphate20, { ...borax20, potential_mV: -borax20.potential_mV }];
    const impossible: BufferPoint[][] = [
      crossed,
      [phosphate20, phosphate20],
      [],
      [{ ...phosphate20, potential_mV: 1500 }],
      [{ ...phosphate20, potential_mV: Number.NaN }],
      [{ ...phosphate20, temperature_C: 55 }],
      [{ buffer: { ph: 14 }, potential_mV: -400, temperature_C: 25 }],
    ];
    for (const points of impossible) expect(() => calibratePhElectrode(points)).toThrow(OutOfRange);
  });
});

describe('temperature of a pH electrode', () => {
  it('moves a reading by its slope: pH 8.2 taken at 25 °C in water of 20 °C is 8.220', () => {
    const ideal = calibratePhElectrode([{ buffer: { ph: 7 }, potential_mV: 0, temperature_C: 25 }]);
    const at = (shown_pH: number, water_C: number) =>
      phFromPotential(ideal, potentialFromShownPh(shown_pH, 25), water_C, 0.5).ph;
    expect(at(8.2, 20)).toBeCloseTo(7 + (1.2 * slope25) / slope20, 6);
    expect(at(7, 10)).toBe(7);
  });

  it('is no obstacle to a probe that sends pH: its potential is found again', () => {
    expect(potentialFromShownPh(8.2, 25)).toBeCloseTo(-1.2 * slope25, 6);
    expect(() => potentialFromShownPh(14.1, 25)).toThrow(OutOfRange);
  });
});

describe('health of a pH electrode', () => {
  const of = (offset_mV: number, share: number, bend_mV = 0) =>
    electrodeHealth(
      calibratePhElectrode([
        { buffer: { ph: 4 }, temperature_C: 25, potential_mV: potential(4, slope25, offset_mV, share) },
        { buffer: { ph: 7 }, temperature_C: 25, potential_mV: potential(7, slope25, offset_mV, share) + bend_mV },
        { buffer: { ph: 10 }, temperature_C: 25, potential_mV: potential(10, slope25, offset_mV, share) },
      ]),
    );

  // Limits: common practice, no published source.
  it('is told from slope, offset and straightness, with the figures that justify it', () => {
    expect(of(5, 0.98)).toMatchObject({ verdict: 'good', reasons: [] });
    expect(of(5, 0.92)).toMatchObject({ verdict: 'clean_and_recalibrate', reasons: [{ what: 'slope_percent' }] });
    expect(of(40, 0.98)).toMatchObject({ verdict: 'clean_and_recalibrate', reasons: [{ what: 'offset_mV' }] });
    expect(of(5, 0.98, 15)).toMatchObject({
      verdict: 'clean_and_recalibrate',
      reasons: [{ what: 'worstResidual_pH' }],
    });
    expect(of(5, 0.85)).toMatchObject({ verdict: 'replace', reasons: [{ what: 'slope_percent', low: 95, high: 102 }] });
    expect(of(-70, 0.98)).toMatchObject({ verdict: 'replace' });
    expect(of(5, 1.04).verdict).toBe('clean_and_recalibrate');
    expect(of(5, 0.85).slope_percent).toBeCloseTo(85, 6);
    expect(of(-70, 0.98).offset_mV).toBeCloseTo(-70, 6);
  });

  it('is not vouched for by a single buffer, which says nothing about the slope', () => {
    expect(electrodeHealth(calibratePhElectrode([phosphate20]))).toMatchObject({
      verdict: 'unproven',
      reasons: [{ what: 'slope_unknown' }],
    });
  });
});
