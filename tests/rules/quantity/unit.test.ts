import { describe, expect, it } from 'vitest';
import { type Metric, metricFacts, metrics } from '#rules/quantity/metric.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { fromStoreUnit, isUnitOf, toStoreUnit, unitsOf } from '#rules/quantity/unit.ts';
import { unitTable } from '#rules/quantity/unit-table.ts';
import { UnknownUnit } from '#rules/quantity/unknown-unit.ts';

describe('the unit beside a number', () => {
  it('that is the store’s own changes nothing, for every metric', () => {
    for (const metric of metrics) {
      expect(unitsOf(metric)[0], metric).toBe(metricFacts[metric].unit);
      expect(toStoreUnit(metric, 7.3, metricFacts[metric].unit), metric).toBe(7.3);
    }
  });

  it('means the same in each of its spellings, and no spelling means two units of one metric', () => {
    for (const metric of metrics) {
      for (const { name, also = [], factor, shift = 0 } of unitTable[metric]) {
        for (const spelling of [name, ...also, name.toLowerCase(), name.toUpperCase(), ` ${name} `]) {
          expect(toStoreUnit(metric, 50, spelling), `${metric} in "${spelling}"`).toBe((50 + shift) * factor);
        }
      }
    }
  });

  // Definitions: SI brochure (2019), 1 in = 25.4 mm and °F (NIST SP 811), 1 atm = 101 325 Pa; RFC 8428 and 8798 names.
  it('is read as its definition says', () => {
    const known: [Metric, number, string, number][] = [
      ['temperature', 77, '°F', 25],
      ['temperature', 77, 'degF', 25],
      ['temperature', -40, 'F', -40],
      ['temperature', 298.15, 'K', 25],
      ['temperature', 25, 'Cel', 25],
      ['temperature', 25, '℃', 25],
      ['ph', 8.1, 'pH', 8.1],
      ['ph', 8.1, '/', 8.1],
      ['conductivity', 53_000, 'uS/cm', 53],
      ['conductivity', 53_000, 'µS/cm', 53],
      ['conductivity', 53_000, 'μS/cm', 53],
      ['conductivity', 5.3, 'S/m', 53],
      ['specific_conductance_25', 53, 'dS/m', 53],
      ['salinity', 35, 'PSU', 35],
      ['salinity', 35.16504, 'g/kg', 35],
      ['alkalinity', 1, 'meq/L', 2.80385],
      ['alkalinity', 50.043, 'mg/L CaCO3', 2.80385],
      ['alkalinity', 50.043, 'ppm as CaCO₃', 2.80385],
      ['alkalinity', 8, 'dkh', 8],
      ['calcium', 420, 'ppm', 420],
      ['calcium', 10, 'mmol/L', 400.78],
      ['calcium', 100.086, 'mg/L CaCO3', 40.078],
      ['nitrate', 1, 'mg/L NO3-N', 62.004 / 14.007],
      ['phosphate', 1, 'µmol/L', 0.094969761998],
      ['phosphate', 30.973761998, 'ppb P', 0.094969761998],
      ['iodide', 0.06, 'mg/L', 60],
      ['orp', 0.35, 'V', 350],
      ['level', 12.5, 'cm', 125],
      ['level', 1, 'm', 1000],
      ['level', 2, 'in', 50.8],
      ['par', 250, 'umol/m2/s', 250],
      ['par', 250, 'µmol m⁻² s⁻¹', 250],
      ['pco2', 101.325, 'Pa', 1000],
    ];
    for (const [metric, value, unit, expected] of known) {
      expect(Math.abs(toStoreUnit(metric, value, unit) / expected - 1), `${value} ${unit}`).toBeLessThan(1e-12);
    }
  });

  it('that the metric cannot have is refused, with the units it can have', () => {
    const wrong: [Metric, string][] = [
      ['temperature', 'mV'],
      ['temperature', ''],
      ['alkalinity', 'mg/L'],
      ['alkalinity', 'ppm'],
      ['ph', 'mV'],
      ['orp', 'constructor'],
      ['calcium', '__proto__'],
    ];
    for (const [metric, unit] of wrong) {
      expect(() => toStoreUnit(metric, 1, unit)).toThrow(UnknownUnit);
      expect(() => fromStoreUnit(metric, 1, unit)).toThrow(UnknownUnit);
      expect(isUnitOf(metric, unit)).toBe(false);
    }
    expect(() => toStoreUnit('alkalinity', 140, 'ppm')).toThrow(
      'unit of alkalinity is "ppm", allowed: dKH, meq/L, mg/L CaCO3',
    );
  });

  it('never lets through a temperature below absolute zero or a number without end', () => {
    expect(() => toStoreUnit('temperature', -1, 'K')).toThrow(OutOfRange);
    expect(() => toStoreUnit('temperature', Number.NaN, 'K')).toThrow(OutOfRange);
    expect(() => toStoreUnit('conductivity', 1e308, 'S/m')).toThrow(OutOfRange);
    expect(() => fromStoreUnit('conductivity', Number.POSITIVE_INFINITY, 'S/m')).toThrow(OutOfRange);
  });
});
