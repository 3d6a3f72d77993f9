import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { shownUnit } from '#hub/model/settings/shown-unit.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { amountText, unitText, valueText } from '../../../../hub/web/src/kit/shown-number.ts';

const shownIn = (metric: Metric, unit: string) => ({
  ...metricFacts[metric],
  shown: shownUnit(metric, { [metric]: unit }),
});

/** Practical salinity and specific gravity 25/25. @source see fixtures/reference/README.md, seawater-density.csv */
function publishedGravities(): { salinity: number; sg: string }[] {
  const [header = '', ...rows] = readFileSync('fixtures/reference/seawater-density.csv', 'utf8').trim().split('\n');
  const names = header.trim().split(',');
  return rows
    .map((row) => row.trim().split(','))
    .filter((cells) => Number(cells[names.indexOf('temperature_C')]) === 25)
    .map((cells) => ({
      salinity: Number(cells[names.indexOf('practical_salinity')]),
      sg: Number(cells[names.indexOf('sg_25_25')]).toFixed(4),
    }))
    .filter(({ salinity }) => salinity >= 2 && salinity <= 42);
}

test('a row shows another specific gravity than the published table has for its salinity', () => {
  const gravities = publishedGravities();
  expect(gravities.length).toBeGreaterThan(5);
  const salinity = shownIn('salinity', 'sg');
  for (const { salinity: stored, sg } of gravities) expect(valueText(salinity, stored)).toBe(sg);
  // Between the pairs of the table it is a straight line, and beyond it the store's number stands.
  expect(Number(valueText(salinity, 34.5))).toBeCloseTo(
    (Number(valueText(salinity, 34)) + Number(valueText(salinity, 35))) / 2,
    4,
  );
  expect([valueText(salinity, 50), unitText(salinity, 50)]).toEqual(['50.00', '']);
});

test('a temperature in °F is moved by 32 where only a difference is meant, or below the table', () => {
  const temperature = shownIn('temperature', '°F');
  expect(valueText(temperature, 25.5)).toBe('77.90');
  expect(valueText(temperature, -40)).toBe('\u221240.00');
  expect(valueText(temperature, 200)).toBe('392.00');
  expect(amountText(temperature, -0.5, 25)).toBe('0.90 °F');
  expect(shownUnit('temperature', { temperature: '°C' })).toBeNull();
  expect(shownUnit('temperature', {})).toBeNull();
});
