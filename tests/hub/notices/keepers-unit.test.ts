import { expect, test } from 'vitest';
import { loadConfig } from '#hub/config/load.ts';
import { inKeepersUnit, isDisplayUnit } from '#hub/notices/keepers-unit.ts';
import { roomText } from '../../servers/hub-process.ts';

test('a keeper who thinks in °F or specific gravity has to convert at three in the morning', () => {
  // 1 °F = (°F - 32) * 5/9 °C by definition; 1 dKH = 17.848 mg/L CaCO3, 2.80385 dKH = 1 meq/L: fixtures/reference/unit-conversions.csv.
  expect(inKeepersUnit('temperature', 27.4, { temperature: '°F' })).toBe('81.32 °F');
  expect(inKeepersUnit('alkalinity', 8.4, { alkalinity: 'meq/L' })).toBe('3.00 meq/L');
  // Seawater of salinity 35 at 25 °C over pure water at 25 °C by EOS-80: 1023.343 / 997.047 kg/m³ (UNESCO 44 and 38).
  expect(inKeepersUnit('salinity', 35, { salinity: 'sg' })).toBe('sg 1.0264');
  expect(inKeepersUnit('salinity', 0.2, { salinity: 'sg' })).toBeUndefined();
  expect(inKeepersUnit('ph', 8.1, { temperature: '°F' })).toBeUndefined();
  expect(inKeepersUnit('', 1, {})).toBeUndefined();
});

test('a unit that a metric cannot have is found at night, by the first alarm', () => {
  expect(isDisplayUnit('temperature', 'sg')).toBe(false);
  const load = (units: Record<string, string>) =>
    loadConfig(roomText('/nowhere', { display_units: units }), 'room.yaml', {}, () => '');
  expect(load({ temperature: '°F', salinity: 'sg' }).ok).toBe(true);
  const wrong = load({ temperature: 'dKH' });
  expect(wrong.ok ? '' : wrong.problems.map(({ text }) => text).join()).toMatch(/display_units.*dKH.*°C, °F, K/s);
});

test('quiet hours that nobody can read are taken for none', () => {
  const load = (notices: unknown) => loadConfig(roomText('/nowhere', { notices }), 'room.yaml', {}, () => '');
  const wrong = load({ quiet_hours: { low: { from: '25:00' } }, repeat_minutes: { high: 0 }, most_per_hours: 3 });
  const text = wrong.ok ? '' : wrong.problems.map((problem) => problem.text).join('\n');
  expect(text).toContain('22:00');
  expect(text).toContain('notices.repeat_minutes.high');
  expect(text).toContain('most_per_hour');
  expect(load({ group_seconds: { high: 6 } }).ok).toBe(false);
});
