import { describe, expect, test } from 'vitest';
import { phHint, type WaterAround } from '#rules/bands/ph-hint.ts';
import { hourMs, mondayMs } from './script.ts';

describe('what the room says about a pH', () => {
  const nowMs = mondayMs;
  const around: WaterAround = {
    side: 'low',
    alkalinity_dKH: 8,
    alkalinityAtMs: nowMs,
    isAlkalinityInBand: true,
    isAlkalinityExpectedToStay: undefined,
    doses: [],
    pco2_uatm: undefined,
    calibratedAtMs: undefined,
    units: {},
  };
  const hint = (change: Partial<WaterAround>) => phHint({ ...around, ...change }, nowMs);
  const roomAir = /room air.*do not dose/;

  test('that fell blames the room on an old, a bad or an unwatched alkalinity, or not on a good one', () => {
    expect(hint({})).toBe(
      'Alkalinity was in its band at the last test (8.00 dKH): room air is the likely cause, so open a window and do not dose for it.',
    );
    expect(hint({ isAlkalinityExpectedToStay: true })).toMatch(
      /^Alkalinity is steady \(8\.00 dKH at the last test\): room/,
    );
    expect(hint({ isAlkalinityExpectedToStay: false })).toBe('');
    expect(hint({ isAlkalinityInBand: false })).toBe('');
    expect(hint({ isAlkalinityInBand: undefined })).toBe('');
    expect(hint({ alkalinity_dKH: undefined })).toBe('');
    expect(hint({ alkalinityAtMs: nowMs - 96 * hourMs })).toMatch(roomAir);
    expect(hint({ alkalinityAtMs: nowMs - 96 * hourMs - 1 })).toBe('');
  });

  // Outdoor air is some 420 µatm; 800 is a closed room: common practice, no published source.
  test('that fell in a stuffy room does not say so', () => {
    expect(hint({ pco2_uatm: 800, isAlkalinityInBand: false })).toBe(
      'Carbon dioxide is up (800 µatm): this is room air, so open a window and do not dose for it.',
    );
    expect(hint({ pco2_uatm: 799, isAlkalinityInBand: false })).toBe('');
    expect(hint({ pco2_uatm: 799 })).toMatch(/^Alkalinity was in its band/);
    expect(hint({ pco2_uatm: 900, side: 'high' })).toBe('');
  });

  test('that rose blames doses too small, too old or yet to come, or counts one of several', () => {
    const dose = (hours: number, raisesBy: number) => ({ timeMs: nowMs - hours * hourMs, raisesBy });
    const high = (...doses: ReturnType<typeof dose>[]) => hint({ side: 'high', doses });
    expect(high()).toBe('');
    expect(high(dose(2, 0.15), dose(1, 0.1))).toBe(
      'Doses for 0.25 dKH of alkalinity are on record, the last 60 min ago: likely an overdose.',
    );
    expect(high(dose(1, 0.2))).toMatch(/overdose/);
    expect(high(dose(1, 0.19))).toBe('');
    expect(high(dose(3, 1))).toMatch(/overdose/);
    expect(high(dose(3.01, 1))).toBe('');
    expect(high(dose(0, 1))).toMatch(/less than a minute ago/);
    expect(high(dose(-0.01, 1))).toBe('');
    expect(hint({ side: 'low', doses: [dose(1, 1)], isAlkalinityInBand: false })).toBe('');
  });

  test('just after a calibration is taken for the water, or a day after it for the probe', () => {
    const calibrated = (hours: number) => hint({ calibratedAtMs: nowMs - hours * hourMs, isAlkalinityInBand: false });
    expect(calibrated(5)).toBe('The probe was calibrated 5 h ago: check it in a buffer first.');
    expect(calibrated(24)).toMatch(/buffer/);
    expect(calibrated(24.01)).toBe('');
    expect(calibrated(0)).toMatch(/buffer/);
    expect(calibrated(-0.01)).toBe('');
  });
});
