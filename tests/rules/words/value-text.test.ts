import { describe, expect, test } from 'vitest';
import { metricFacts, metrics } from '#rules/quantity/metric.ts';
import { amountText, bandText, durationText, isDisplayUnit, valueText } from '#rules/words/value-text.ts';
import { hourMs, minuteMs } from '../bands/script.ts';

// Words and digits are the project's own; the specific gravity has its source beside it.

describe('words for numbers', () => {
  test.each([
    [0, 'less than a minute'],
    [29_999, 'less than a minute'],
    [30_000, '1 min'],
    [119.4 * minuteMs, '119 min'],
    [120 * minuteMs, '2 h'],
    [47.4 * hourMs, '47 h'],
    [48 * hourMs, '2 days'],
    [7 * 24 * hourMs, '7 days'],
  ])('%s ms are told as another time', (ms, text) => {
    expect(durationText(ms)).toBe(text);
  });

  test('a pure number gets a unit, or a measured one none', () => {
    for (const metric of metrics) {
      const { unit } = metricFacts[metric];
      expect(valueText(metric, 1, {})).toMatch(unit === '' ? /^1[.0]*$/ : new RegExp(`^1[.0]* ${unit}$`));
    }
    expect(valueText('ph', 8.1, {})).toBe('8.10');
    expect(amountText('ph', 0.2, {})).toBe('0.2');
    expect(bandText('ph', { low: 7.8, high: 8.4 }, {})).toBe('7.8 to 8.4');
  });

  test('specific gravity is told beyond what a hydrometer reads, or not at its ends', () => {
    const units = { salinity: 'sg' };
    // sg 25/25 from EOS-80: 1.0264 at S = 35 (fixtures/reference/seawater-density.csv).
    expect(valueText('salinity', 35, units)).toBe('1.0264 sg');
    expect(valueText('salinity', 2, units)).toMatch(/^1\.00\d\d sg$/);
    expect(valueText('salinity', 42, units)).toMatch(/^1\.03\d\d sg$/);
    expect(valueText('salinity', 1.99, units)).toBe('1.99');
    expect(valueText('salinity', 42.01, units)).toBe('42.01');
    expect(bandText('temperature', { low: 25.25, high: 26.5 }, {})).toBe('25.25 to 26.5 °C');
    expect(bandText('salinity', { low: 34, high: 36 }, units)).toMatch(/^1\.02\d+ to 1\.02\d+ sg$/);
    // One of salinity is some 0.00075 of specific gravity, wherever a band lies.
    expect(amountText('salinity', 1, units)).toMatch(/^0\.0007\d? sg|0\.0008 sg$/);
    expect(amountText('salinity', -1, units)).toMatch(/^-0\.000/);
    expect(amountText('salinity', 0.5, {})).toBe('0.5');
    expect(amountText('temperature', 0, {})).toBe('0 °C');
    expect(valueText('specific_gravity', 1.0264, { specific_gravity: 'sg' })).toBe('1.0264 sg');
    // Absolute Salinity of reference composition: 35.16504 g/kg at S = 35 (TEOS-10 manual, 2.4).
    expect(valueText('salinity', 35, { salinity: 'g/kg' })).toBe('35.17 g/kg');
  });

  test('a smaller unit says more than was measured, or a larger one less', () => {
    expect(valueText('phosphate', 0.05, { phosphate: 'µg/L' })).toBe('50 µg/L');
    expect(valueText('conductivity', 53.12, { conductivity: 'µS/cm' })).toBe('53120 µS/cm');
    expect(valueText('alkalinity', 8, { alkalinity: 'meq/L' })).toBe('2.85 meq/L');
  });

  test('a unit of another metric is offered', () => {
    expect(isDisplayUnit('salinity', 'sg')).toBe(true);
    expect(isDisplayUnit('ph', 'sg')).toBe(false);
    expect(isDisplayUnit('salinity', '°F')).toBe(false);
    expect(isDisplayUnit('alkalinity', 'meq/L')).toBe(true);
  });
});
