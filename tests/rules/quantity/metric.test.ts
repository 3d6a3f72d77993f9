import { expect, test } from 'vitest';
import { analytes, isAnalyte, isMetric, metricFacts, metrics } from '#rules/quantity/metric.ts';
import { unitsOf } from '#rules/quantity/unit.ts';

test('a word that names no metric is taken for one, or a metric is not known', () => {
  for (const metric of metrics) expect([metric, isMetric(metric)]).toEqual([metric, true]);
  for (const word of ['', 'Ph', 'salinities', 'toString', 'constructor', '__proto__'])
    expect([word, isMetric(word)]).toEqual([word, false]);
});

test('a test of what nobody can test by hand is taken', () => {
  for (const analyte of analytes)
    expect([analyte, isAnalyte(analyte), isMetric(analyte)]).toEqual([analyte, true, true]);
  for (const word of ['', 'pco2', 'orp', 'level', 'conductivity', 'Calcium'])
    expect([word, isAnalyte(word)]).toEqual([word, false]);
});

test('a number is shown with a unit that it is not kept in, without a name, or with too few decimals for its band', () => {
  for (const metric of metrics) {
    const { label, unit, decimals } = metricFacts[metric];
    expect([metric, unit]).toEqual([metric, unitsOf(metric)[0]]);
    expect(label).toMatch(/^(pH|pCO2|[A-Z])/);
    expect(decimals).toBeGreaterThanOrEqual(0);
  }
  // The difference of 0.0003 in specific gravity is 0.4 in salinity, one of 0.01 in phosphate is a band's width.
  expect(metricFacts.specific_gravity.decimals).toBe(4);
  expect(metricFacts.phosphate.decimals).toBe(3);
  expect(new Set(metrics.map((metric) => metricFacts[metric].label)).size).toBe(metrics.length);
});
