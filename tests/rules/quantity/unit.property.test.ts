import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Metric, metrics } from '#rules/quantity/metric.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { fromStoreUnit, toStoreUnit, unitsOf } from '#rules/quantity/unit.ts';
import { UnknownUnit } from '#rules/quantity/unknown-unit.ts';

const metricAndUnit = fc
  .constantFrom(...metrics)
  .chain((metric) => fc.tuple(fc.constant(metric), fc.constantFrom(...unitsOf(metric))));

describe('a number in any unit of its metric', () => {
  it('comes back the same from the store', () => {
    fc.assert(
      fc.property(metricAndUnit, fc.double({ min: -200, max: 1e6, noNaN: true }), ([metric, unit], value) => {
        fc.pre(!(metric === 'temperature' && unit === 'K' && value < 0));
        const back = fromStoreUnit(metric, toStoreUnit(metric, value, unit), unit);
        expect(Math.abs(back - value)).toBeLessThanOrEqual(1e-12 * Math.max(Math.abs(value), 1000));
      }),
      { numRuns: 1000 },
    );
  });

  it('keeps its order, so that hotter is hotter in °F too', () => {
    fc.assert(
      fc.property(metricAndUnit, fc.double({ min: 0, max: 1e4, noNaN: true }), ([metric, unit], value) => {
        expect(toStoreUnit(metric, value + 0.01, unit)).toBeGreaterThan(toStoreUnit(metric, value, unit));
      }),
    );
  });

  it('and any text beside it gives a finite number or one of the two refusals', () => {
    const text = fc.oneof(
      fc.string(),
      fc.constantFrom('K', 'mg/L', 'S/m', '__proto__', 'toString', 'valueOf', '\u0000'),
    );
    fc.assert(
      fc.property(fc.constantFrom<Metric>(...metrics), fc.double(), text, (metric, value, unit) => {
        for (const convert of [toStoreUnit, fromStoreUnit]) {
          try {
            expect(Number.isFinite(convert(metric, value, unit))).toBe(true);
          } catch (error) {
            expect(error instanceof UnknownUnit || error instanceof OutOfRange).toBe(true);
          }
        }
      }),
      { numRuns: 1000 },
    );
  });
});
