import { describe, expect, it } from 'vitest';
import { calibratePhElectrode, type PhCalibration } from '#rules/seawater/ph-electrode.ts';
import { electrodeHealth } from '#rules/seawater/ph-electrode-health.ts';

const calibration = (more: Partial<PhCalibration>): PhCalibration => ({
  ...{ offset_mV: 0, slopeShare: 0.99, points: 3, worstResidual_pH: 0.01 },
  variance: { offset: 0.3, share: 1e-5, covariance: 0 },
  ...more,
});

// Limits: common practice, no published source.
describe('what a calibration says of its electrode', () => {
  it.each([
    ['good', 'a slope of 95 %', { slopeShare: 0.95 }, []],
    ['good', 'a slope of 102 %', { slopeShare: 1.02 }, []],
    ['good', 'an offset of 30 mV', { offset_mV: 30 }, []],
    ['good', 'an offset of −30 mV', { offset_mV: -30 }, []],
    ['good', 'a misfit of 0.05', { worstResidual_pH: 0.05 }, []],
    ['good', 'two buffers', { points: 2, worstResidual_pH: 0 }, []],
    [
      'clean_and_recalibrate',
      'a slope of 94 %',
      { slopeShare: 0.94 },
      [{ what: 'slope_percent', found: 94, low: 95, high: 102 }],
    ],
    [
      'clean_and_recalibrate',
      'a slope of 103 %',
      { slopeShare: 1.03 },
      [{ what: 'slope_percent', found: 103, low: 95, high: 102 }],
    ],
    [
      'clean_and_recalibrate',
      'a slope of 88 %',
      { slopeShare: 0.88 },
      [{ what: 'slope_percent', found: 88, low: 95, high: 102 }],
    ],
    [
      'clean_and_recalibrate',
      'an offset of 60 mV',
      { offset_mV: 60 },
      [{ what: 'offset_mV', found: 60, low: -30, high: 30 }],
    ],
    [
      'clean_and_recalibrate',
      'an offset of −31 mV',
      { offset_mV: -31 },
      [{ what: 'offset_mV', found: -31, low: -30, high: 30 }],
    ],
    [
      'clean_and_recalibrate',
      'a misfit of 0.3, which is a spoilt buffer',
      { worstResidual_pH: 0.3 },
      [{ what: 'worstResidual_pH', found: 0.3, low: 0, high: 0.05 }],
    ],
    ['replace', 'a slope of 87 %', { slopeShare: 0.87 }, [{ what: 'slope_percent', found: 87, low: 95, high: 102 }]],
    ['replace', 'a slope of 106 %', { slopeShare: 1.06 }, [{ what: 'slope_percent', found: 106, low: 95, high: 102 }]],
    ['replace', 'an offset of 61 mV', { offset_mV: 61 }, [{ what: 'offset_mV', found: 61, low: -30, high: 30 }]],
    ['replace', 'an offset of −61 mV', { offset_mV: -61 }, [{ what: 'offset_mV', found: -61, low: -30, high: 30 }]],
  ] as const)('is other than %s for %s', (verdict, _, more, reasons) => {
    const health = electrodeHealth(calibration(more));
    expect(health.verdict).toBe(verdict);
    expect(health.reasons).toEqual(reasons.map((reason) => ({ ...reason, found: expect.closeTo(reason.found, 9) })));
    expect(health.slope_percent).toBeCloseTo(100 * ('slopeShare' in more ? more.slopeShare : 0.99), 9);
    expect(health.offset_mV).toBe('offset_mV' in more ? more.offset_mV : 0);
  });

  it('one buffer is taken to prove the slope, or to excuse a bad offset', () => {
    const one = (potential_mV: number) =>
      electrodeHealth(calibratePhElectrode([{ buffer: { ph: 7 }, potential_mV, temperature_C: 25 }]));
    const unknown = { what: 'slope_unknown', found: 1, low: 2, high: 3 };
    expect(one(5)).toMatchObject({ verdict: 'unproven', reasons: [unknown] });
    expect(one(40)).toMatchObject({ verdict: 'clean_and_recalibrate', reasons: [{ what: 'offset_mV' }, unknown] });
    expect(one(70).verdict).toBe('replace');
  });
});
