import { describe, expect, test } from 'vitest';
import { guessMetric } from '#hub/setup/guess-metric.ts';

// Names of quantities and their usual ranges: common practice, no published source. Seawater of practical salinity 35 at
// 25 °C conducts 53 mS/cm (PSS-78); 77.9 °F is 25.5 °C by definition.
describe('what a number on a line is taken for', () => {
  test.each([
    [['t'], 25.4, undefined, 'temperature', undefined, 25.4],
    [['display/temperature'], 25.4, 'Cel', 'temperature', undefined, 25.4],
    [['water_temp'], 77.9, undefined, 'temperature', '°F', 25.5],
    [['ph'], 8.1, undefined, 'ph', undefined, 8.1],
    [['ec'], 53.1, undefined, 'conductivity', undefined, 53.1],
    [['EC'], 53_100, undefined, 'conductivity', 'µS/cm', 53.1],
    [['sensors.water.salinity'], 35, undefined, 'salinity', undefined, 35],
    [['value', 'ph'], 8.1, undefined, 'ph', undefined, 8.1],
    [['probe1'], 53.1, 'mS/cm', 'conductivity', undefined, 53.1],
  ] as const)('%j = %d %s is not offered as what it is', (names, value, stated, metric, unit, stored) => {
    const guess = guessMetric(names, value, stated);
    expect(guess).toMatchObject({ metric, by: 'name' });
    expect(guess?.unit).toBe(unit);
    expect(guess?.value).toBeCloseTo(stored, 6);
  });

  test.each([
    [[], 8.2, 'ph'],
    [[], 25.3, 'temperature'],
    [[], 53, 'conductivity'],
  ] as const)('a nameless %j %d is taken for certain', (names, value, metric) => {
    expect(guessMetric(names, value, undefined)).toMatchObject({ metric, by: 'value' });
  });

  test.each([
    ['a battery', ['ph', 'x'], 3.7],
    ['a pulled electrode', ['ph'], 14.2],
    ['a signal strength', ['rssi'], -61],
    ['a nameless 35', [], 35],
    ['a probe in the air', ['ec'], 0.02],
  ] as const)('%s is offered as a probe of a reef tank', (_what, names, value) => {
    expect(guessMetric(names, value, undefined)).toBeUndefined();
  });
});
