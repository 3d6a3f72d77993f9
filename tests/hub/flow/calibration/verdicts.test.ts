import { expect, test } from 'vitest';
import { referenceTable } from '../../../rules/seawater/reference-table.ts';
import { calibratedRoom, minuteMs, startMs } from './calibrated-room.ts';

test('a thermometer that reads 0.3 °C too much goes on doing so after its calibration', () => {
  const room = calibratedRoom({ probes: [{ id: 't', metric: 'temperature' }] });
  const { body } = room.enter({ kind: 'linear', probe: 't', slope: 1.02, offset: -0.8 });
  expect(body.verdict).toEqual({ state: 'not_judged', reasons: [] });
  room.send('t', 25, startMs + minuteMs);
  // By hand: 25 × 1.02 - 0.8.
  expect(room.values('t')).toEqual([expect.closeTo(24.7, 12)]);
  expect(room.told).toEqual([{ is: 'calibration', probe: 't', timeMs: startMs }]);
});

test('a dry run of a calibration changes the readings', () => {
  const room = calibratedRoom({ probes: [{ id: 't', metric: 'temperature' }] });
  expect(room.enter({ kind: 'linear', probe: 't', slope: 2, offset: 0 }, true).id).toBeUndefined();
  room.send('t', 25, startMs + minuteMs);
  expect(room.values('t')).toEqual([25]);
  expect(room.store.journal({})).toEqual([]);
  expect(room.told).toEqual([]);
});

test('a slope and offset from the file stay in force under a calibration, or return to none', () => {
  const probes = [{ id: 't', metric: 'temperature' as const, calibration: { slope: 1, offset: -0.5 } }];
  const room = calibratedRoom({ probes });
  room.send('t', 25, startMs);
  room.at(startMs + 26 * minuteMs);
  room.enter({ kind: 'linear', probe: 't', slope: 1, offset: 0.25, time: '2026-01-05T08:30:00Z' });
  room.send('t', 25, startMs + 29 * minuteMs);
  room.send('t', 25, startMs + 30 * minuteMs);
  expect(room.values('t')).toEqual([24.5, 24.5, 25.25]);
});

test('a conductivity probe in seawater of S = 35 gets another factor than the published conductivity says', () => {
  const room = calibratedRoom({ probes: [{ id: 'ec', metric: 'conductivity' }] });
  // C(35, 15 °C) = 42.914 mS/cm: Culkin & Smith 1980, as in UNESCO 44. The probe shows 42.914 / 1.03.
  const entry = { kind: 'cell', probe: 'ec', shown_mS_cm: 41.664, standard_temperature_C: 15 };
  const { verdict } = room.enter({ ...entry, standard: { seawater_salinity: 35, salinity_sd: 0.05 } }).body;
  expect(verdict.cell_factor).toBeCloseTo(1.03, 3);
  expect(verdict.standard_mS_cm).toBeCloseTo(42.914, 2);
  expect(verdict.error_percent).toBeCloseTo(100 / 1.03 - 100, 1);
  expect(verdict.state).toBe('good');
  room.send('ec', 41.664, startMs + minuteMs);
  expect(room.values('ec')[0]).toBeCloseTo(42.914, 2);
});

test('a probe in a potassium chloride standard is held against that of another temperature', () => {
  const room = calibratedRoom({ probes: [{ id: 'ec', metric: 'conductivity' }] });
  let rows = 0;
  for (const row of referenceTable('conductivity-standards', 114)) {
    // Nominal 12.88 mS/cm: the table of the fixture, by temperature.
    if (row.text('solution_id') !== 'kcl_12.88mS') continue;
    rows += 1;
    const true_mS_cm = row.number('conductivity_mS_cm');
    const entry = { kind: 'cell', probe: 'ec', shown_mS_cm: true_mS_cm * 0.85, standard: { kcl: 'kcl_12.88mS' } };
    const { verdict } = room.enter({ ...entry, standard_temperature_C: row.number('temperature_C') }, true).body;
    expect(verdict.cell_factor).toBeCloseTo(1 / 0.85, 6);
    // 15 % too little: fouled or a bubble, and not yet past saving.
    expect(verdict.state).toBe('clean_and_recalibrate');
    expect(verdict.reasons[0]).toContain('off by -15.0 %');
  }
  expect(rows).toBeGreaterThan(3);
});

// C(35, 15 °C) = 42.914 mS/cm: Culkin & Smith 1980, as in UNESCO 44; the units by the prefixes of the SI.
test.each([
  { shown_mS_cm: 42_914, asks: 'Is it in µS/cm? Then give 42.914.' },
  { shown_mS_cm: 4291.4, asks: 'Is it in mS/m? Then give 42.914.' },
  { shown_mS_cm: 4.2914, asks: 'Is it in S/m? Then give 42.914.' },
])('$shown_mS_cm becomes a cell that is a wreck, and nobody asks for the unit', ({ shown_mS_cm, asks }) => {
  const room = calibratedRoom({ probes: [{ id: 'ec', metric: 'conductivity' }] });
  const entry = { kind: 'cell', probe: 'ec', shown_mS_cm, standard_temperature_C: 15 };
  expect(() => room.enter({ ...entry, standard: { seawater_salinity: 35 } })).toThrow(asks);
  expect(room.store.journal({})).toEqual([]);
});

test('a number that fits no unit is told as one of another unit', () => {
  const room = calibratedRoom({ probes: [{ id: 'ec', metric: 'conductivity' }] });
  const entry = { kind: 'cell', probe: 'ec', shown_mS_cm: 0.9, standard_temperature_C: 15 };
  expect(() => room.enter({ ...entry, standard: { seawater_salinity: 35 } })).toThrow('cell factor');
});

test('a display referred to 25 °C is held against the standard at its own temperature', () => {
  const probes = [{ id: 'ec25', metric: 'specific_conductance_25' as const, compensation_percent_per_C: 2 }];
  const room = calibratedRoom({ probes });
  // By hand: 42.914 mS/cm at 15 °C is displayed as 42.914 / (1 - 0.02 × 10) = 53.6425; the cell is off by 2 %.
  const entry = { kind: 'cell', probe: 'ec25', shown_mS_cm: 53.6425 * 1.02, standard_temperature_C: 15 };
  const { verdict } = room.enter({ ...entry, standard: { seawater_salinity: 35 } }).body;
  // The published value is by IPTS-68, 0.004 °C from ITS-90: 0.01 %.
  expect(verdict.cell_factor).toBeCloseTo(1 / 1.02, 3);
});

// Nernst slope 59.159 mV at 25 °C and 58.167 mV at 20 °C (CODATA); phosphate buffer 6.865 at 25 °C and 6.881 at 20 °C, borax
// 9.180 and 9.225 (NIST, fixtures/reference/ph-buffers.csv). The electrode: offset -8 mV, 97 % of the ideal slope.
const potential = (slope_mV: number, ph: number) => -8 - 0.97 * slope_mV * (ph - 7);

test('an electrode on the wire in mV gets another slope than its two buffers have', () => {
  const room = calibratedRoom({ probes: [{ id: 'ph', metric: 'ph', signal: 'mV', unit: 'mV' }] });
  const { verdict } = room.enter({
    kind: 'ph',
    probe: 'ph',
    buffers: [
      { buffer: 'phosphate_equimolal', potential_mV: potential(59.159, 6.865), temperature_C: 25 },
      { buffer: 'borax', potential_mV: potential(58.167, 9.225), temperature_C: 20 },
    ],
  }).body;
  expect(verdict).toMatchObject({ state: 'good', reasons: [] });
  expect(verdict.slope_percent).toBeCloseTo(97, 2);
  expect(verdict.offset_mV).toBeCloseTo(-8, 2);
  // 0.01 pH each and 0.5 mV each: some 0.015 at 8.2.
  expect(verdict.standard_uncertainty_ph).toBeGreaterThan(0.01);
  expect(verdict.standard_uncertainty_ph).toBeLessThan(0.02);
  room.send('ph', potential(59.159, 8.2), startMs + minuteMs);
  expect(room.values('ph')[0]).toBeCloseTo(8.2, 3);
});

test('a probe that shows pH is calibrated as if it showed it at another temperature', () => {
  const room = calibratedRoom({
    probes: [
      { id: 't', metric: 'temperature' },
      { id: 'ph', metric: 'ph', temperature_probe: 't' },
    ],
  });
  // The meter made a pH of the potential with an ideal slope at 25 °C.
  const shown = (slope_mV: number, ph: number) => 7 - potential(slope_mV, ph) / 59.159;
  room.enter({
    kind: 'ph',
    probe: 'ph',
    buffers: [
      { ph: 6.881, shown_ph: shown(58.167, 6.881), temperature_C: 20 },
      { ph: 9.225, shown_ph: shown(58.167, 9.225), temperature_C: 20 },
    ],
  });
  // In water of 20 °C and of 25 °C the same pH 8.1 is shown differently; the reading is the same.
  room.send('t', 20, startMs + minuteMs);
  room.send('ph', shown(58.167, 8.1), startMs + minuteMs);
  room.send('t', 25, startMs + 60 * minuteMs);
  room.send('ph', shown(59.159, 8.1), startMs + 60 * minuteMs);
  expect(Math.abs(shown(58.167, 8.1) - shown(59.159, 8.1))).toBeGreaterThan(0.01);
  expect(room.values('ph')).toEqual([expect.closeTo(8.1, 3), expect.closeTo(8.1, 3)]);
});

test('one buffer proves a slope, and a worn electrode is called good', () => {
  const room = calibratedRoom({ probes: [{ id: 'ph', metric: 'ph', signal: 'mV' }] });
  const buffer = (ph: number, potential_mV: number) => ({ ph, potential_mV, temperature_C: 25 });
  const verdict = (...buffers: object[]) => room.enter({ kind: 'ph', probe: 'ph', buffers }, true).body.verdict;
  const one = verdict(buffer(7, -4));
  expect(one).toMatchObject({ state: 'unproven', slope_percent: 100, offset_mV: -4 });
  // By hand: 3 pH at 90 % and at 80 % of 177.477 mV.
  expect(verdict(buffer(7, 0), buffer(10, -159.729))).toMatchObject({ state: 'clean_and_recalibrate' });
  const worn = verdict(buffer(7, 0), buffer(10, -141.982));
  expect(worn.state).toBe('replace');
  expect(worn.reasons[0]).toContain('slope: found 80 %');
  // The middle one of three is 0.2 pH off: a spoilt buffer.
  const spoilt = verdict(buffer(4, 177.477), buffer(7, 11.832), buffer(10, -177.477));
  expect(spoilt.state).toBe('clean_and_recalibrate');
  expect(spoilt.worst_residual_ph).toBeCloseTo(0.2 * (2 / 3), 2);
  expect(spoilt.standard_uncertainty_ph ?? 0).toBeGreaterThan(3 * 0.01);
});

test('a calibration that no such probe can have is taken', () => {
  const room = calibratedRoom({
    probes: [
      { id: 't', metric: 'temperature' },
      { id: 'ec', metric: 'conductivity' },
      { id: 'ph', metric: 'ph', signal: 'mV' },
    ],
  });
  const refused = (entry: Record<string, unknown>) => {
    try {
      room.enter(entry);
    } catch (error) {
      return (error as { problem?: string }).problem;
    }
    return 'taken';
  };
  const cell = { kind: 'cell', standard: { seawater_salinity: 35 }, shown_mS_cm: 50, standard_temperature_C: 25 };
  expect(refused({ ...cell, probe: 'nobody' })).toBe('unknown_probe');
  expect(refused({ ...cell, probe: 't' })).toBe('not_for_this_metric');
  // µS/cm typed for mS/cm.
  expect(refused({ ...cell, probe: 'ec', shown_mS_cm: 53_000 })).toBe('out_of_range');
  const buffers = [{ ph: 7, shown_ph: 7.1, temperature_C: 25 }];
  expect(refused({ kind: 'ph', probe: 'ph', buffers })).toBe('out_of_range');
  expect(refused({ kind: 'ph', probe: 'ec', buffers })).toBe('not_for_this_metric');
  expect(refused({ kind: 'linear', probe: 't', slope: 0, offset: 0 })).toBe('out_of_range');
  const tomorrow = { time: '2026-01-06T08:00:00Z' };
  expect(refused({ kind: 'linear', probe: 't', slope: 1, offset: 0, ...tomorrow })).toBe('in_the_future');
  expect(room.store.journal({})).toEqual([]);
});
