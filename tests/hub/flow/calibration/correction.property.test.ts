import fc from 'fast-check';
import { expect, test } from 'vitest';
import { corrected, wireFrom } from '#hub/flow/pipeline/correction.ts';
import { calibratePhElectrode, phFromPotential } from '#rules/seawater/ph-electrode.ts';

const electrode = fc.record({
  signal: fc.constantFrom('ph' as const, 'mV' as const),
  offset_mV: fc.double({ min: -60, max: 60, noNaN: true }),
  slopeShare: fc.double({ min: 0.8, max: 1.1, noNaN: true }),
  meterTemperature_C: fc.double({ min: 10, max: 40, noNaN: true }),
});
const linear = {
  slope: fc.double({ min: 0.5, max: 2, noNaN: true }),
  offset: fc.double({ min: -2, max: 2, noNaN: true }),
};
const correction = fc.oneof(fc.record(linear), fc.record({ ...linear, electrode }));
const temperature_C = fc.option(fc.double({ min: 0, max: 50, noNaN: true }), { nil: undefined });

test('a correction that is taken back leaves another number than the wire gave', () => {
  fc.assert(
    fc.property(correction, fc.double({ min: -400, max: 400, noNaN: true }), temperature_C, (each, wire, t) => {
      const back = wireFrom(each, corrected(each, wire, t), t);
      expect(Math.abs(back - wire)).toBeLessThan(1e-10 * Math.max(1, Math.abs(wire)));
    }),
    { seed: 20260108 },
  );
});

test('an electrode on the wire reads another pH than its calibration says', () => {
  // Two buffers at 25 °C, by hand: 177.477 mV apart over 3 pH is the ideal slope of 59.159 mV; the offset is 5 mV.
  const found = calibratePhElectrode([
    { buffer: { ph: 7 }, potential_mV: 5, temperature_C: 25 },
    { buffer: { ph: 10 }, potential_mV: 5 - 3 * 59.159, temperature_C: 25 },
  ]);
  const { offset_mV, slopeShare } = found;
  fc.assert(
    fc.property(
      fc.double({ min: -300, max: 300, noNaN: true }),
      fc.double({ min: 5, max: 45, noNaN: true }),
      (mV, t) => {
        const asElectrode = {
          electrode: { signal: 'mV' as const, offset_mV, slopeShare, meterTemperature_C: 25 },
          slope: 1,
          offset: 0,
        };
        expect(corrected(asElectrode, mV, t)).toBeCloseTo(phFromPotential(found, mV, t, 0).ph, 10);
      },
    ),
    { seed: 20260109, numRuns: 50 },
  );
});

test('a shown pH in warm water is not corrected for the temperature of the electrode', () => {
  const ideal = { signal: 'ph' as const, offset_mV: 0, slopeShare: 1, meterTemperature_C: 25 };
  const shown = corrected({ electrode: ideal, slope: 1, offset: 0 }, 8.2, 30);
  // By hand: 7 + 1.2 × 298.15 / 303.15.
  expect(shown).toBeCloseTo(8.18021, 5);
  expect(corrected({ electrode: ideal, slope: 1, offset: 0 }, 8.2, undefined)).toBeCloseTo(8.2, 12);
});

test('a dead electrode stops the pipeline instead of failing its reading', () => {
  const ideal = { signal: 'mV' as const, offset_mV: 0, slopeShare: 1, meterTemperature_C: 25 };
  // An open input at 2 V: far below pH 0, where the quality stage fails it.
  expect(corrected({ electrode: ideal, slope: 1, offset: 0 }, 2000, 25)).toBeCloseTo(7 - 2000 / 59.159, 2);
});
