import { expect, test } from 'vitest';
import { loadConfig } from '#hub/model/config/load.ts';
import { calibratedRoom, minuteMs, startMs } from './calibrated-room.ts';

const said = (probe: string) => {
  const text = `site: {name: Invented room}
systems: [{id: display, name: Display, volume_l: 400, bands: {}}]
probes: [{id: p, system: display, mqtt: {topic: room/p}, ${probe}}]
`;
  const loaded = loadConfig(text, 'room.yaml', {}, () => '');
  return loaded.ok ? loaded.warnings.join('\n') : loaded.problems.map((problem) => problem.text).join('\n');
};

test('a pH probe that sends millivolts cannot be configured, or one that sends none can', () => {
  expect(said('metric: ph, signal: mV, unit: mV')).toBe('');
  expect(said('metric: ph, signal: mV, unit: V')).toBe('');
  expect(said('metric: ph, unit: mV')).toContain('found "mV"');
  expect(said('metric: ph, signal: mV, unit: °C')).toContain('a unit of a potential: mV, V');
  expect(said('metric: ph, signal: volt')).toContain('ph or mV');
});

test('a key that only an electrode needs is silent on another probe', () => {
  expect(said('metric: orp, meter_temperature_C: 25')).toContain('only for a pH probe');
  expect(said('metric: orp, signal: mV')).toContain('only for a pH probe');
});

test('an electrode that was never calibrated shows no pH, or that of another temperature', () => {
  const probes = [
    { id: 't', metric: 'temperature' as const },
    { id: 'ph', metric: 'ph' as const, signal: 'mV', unit: 'V' },
  ];
  const room = calibratedRoom({ probes });
  // By the Nernst slope (CODATA): 59.159 mV at 25 °C, which is taken while no temperature is known, and 60.151 at 30 °C.
  room.send('ph', -0.059159, startMs);
  room.send('t', 30, startMs + 60 * minuteMs);
  room.send('ph', -0.060151, startMs + 60 * minuteMs);
  // The temperature of an hour ago is none.
  room.send('ph', -0.059159, startMs + 120 * minuteMs);
  for (const value of room.values('ph')) expect(value).toBeCloseTo(8, 4);
  expect(room.values('ph')).toHaveLength(3);
});
