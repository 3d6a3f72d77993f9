import { expect, test } from 'vitest';
import { loadConfig } from '#hub/model/config/load.ts';
import { roomText } from '../../../servers/hub-process.ts';

test('a unit that a metric cannot have is found at night, by the first alarm', () => {
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
