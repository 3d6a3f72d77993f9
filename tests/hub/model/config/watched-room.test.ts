import { expect, test } from 'vitest';
import { loadConfig } from '#hub/model/config/load.ts';
import { temperatureProbeOf, watchedRoomFromConfig } from '#hub/model/config/watched-room.ts';
import { noFiles, smallest, withProbes } from './config-texts.ts';

function loaded(text: string) {
  const result = loadConfig(text, 'config.yaml', { BROKER_PASSWORD: 'pw' }, (path) =>
    path === '/run/secrets/token' ? 'abc' : noFiles(path),
  );
  if (!result.ok) throw new Error(result.problems.map((problem) => problem.text).join('\n'));
  return result.config;
}

test('delays in minutes reach the rules as milliseconds, bands keep their edges', () => {
  const room = watchedRoomFromConfig(loaded(withProbes));
  expect(room.overrides).toEqual([
    {
      rule: 'out_of_band',
      system: 'display',
      metric: 'temperature',
      enabled: true,
      priority: 'high',
      onDelayMs: 120_000,
      offDelayMs: 330_000,
      deadband: 0.1,
      gapToleranceMs: 900_000,
      reAlarmMs: 3_600_000,
    },
  ]);
  expect(room.systems[0]?.bands).toEqual({
    temperature: { low: 25, high: 26.5, mostPerHour: 0.5, mostPerDay: 1 },
    alkalinity: { low: 7.5, high: 9, mostPerDay: 0.5 },
  });
  expect(room.systems[0]).toMatchObject({ volumeL: 420, testEveryDays: { alkalinity: 2, calcium: 7 } });
});

test('a dead conductivity probe is known as the cause of the missing salinity', () => {
  const room = watchedRoomFromConfig(loaded(withProbes));
  expect(room.systems[0]?.probes).toEqual([
    { id: 'temp', metric: 'temperature', everyMs: 5000, derivedFrom: [] },
    { id: 'cond', metric: 'conductivity', derivedFrom: [] },
    { id: 'cond', metric: 'salinity', derivedFrom: ['cond', 'temp'] },
    { id: 'cond', metric: 'specific_gravity', derivedFrom: ['cond', 'temp'] },
    { id: 'ph1', metric: 'ph', derivedFrom: [] },
  ]);
});

test('a conductivity probe takes the first temperature probe of its own water, and without one promises no salinity', () => {
  const text = `${smallest}  - {id: quarantine, name: Q, volume_l: 80, bands: {}}
probes:
  - {id: t-display, system: display, metric: temperature, mqtt: {topic: a}}
  - {id: c-quarantine, system: quarantine, metric: conductivity, mqtt: {topic: b}}
  - {id: c-display, system: display, metric: conductivity, mqtt: {topic: c}}
`;
  const config = loaded(text);
  const room = watchedRoomFromConfig(config);
  expect(room.systems[1]?.probes.map(({ metric }) => metric)).toEqual(['conductivity']);
  expect(temperatureProbeOf(config.probes[2]!, config.probes)?.id).toBe('t-display');
  expect(room.systems[0]?.probes.map(({ metric }) => metric)).toContain('salinity');
});
