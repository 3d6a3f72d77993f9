import { describe, expect, test } from 'vitest';
import type { ReviewFigures } from '#hub/model/answers/review-schema.ts';
import { shownUnit } from '#hub/model/settings/shown-unit.ts';
import { known } from '#hub/reports/week/review/figure.ts';
import { inKeepersUnits } from '#hub/reports/week/review/in-keepers-units.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';

const place = { system: 'display', systemName: 'Display tank' };
const temperature = {
  ...place,
  ...{ metric: 'temperature' as const, label: 'Temperature', unit: '°C', decimals: 2, probe: 't', name: null },
};
const alkalinity = {
  ...place,
  ...{ metric: 'alkalinity' as const, label: 'Alkalinity', unit: 'dKH', decimals: 2 },
};
const figures: Pick<ReviewFigures, 'bands' | 'swings' | 'demand' | 'tests'> = {
  bands: [
    {
      ...temperature,
      band: { low: 25, high: 26.5 },
      ...{ shareInBand: known(0.9), minutesHeard: 10_080, minutesOutside: known(1008), shareHeard: known(1) },
      ...{ min: known(24), mean: known(25.5), max: known(30) },
      hours: [{ timeMs: 0, min: 24, mean: 25, max: 30 }],
    },
  ],
  swings: [
    {
      ...temperature,
      ...{ largestOfDay: known(1), onDate: '2026-11-18', mostPerDay: known(0.5) },
      ...{ largestOfHour: { absent: 'no reading' }, hourFromMs: null, mostPerHour: known(0.25) },
      days: [{ date: '2026-11-18', swing: known(1) }],
    },
  ],
  demand: [
    {
      ...alkalinity,
      ...{ perDay: known(2.8), low95: known(1.4), high95: known(4.2), change: known(-0.28), dosedPerDay: known(2.8) },
      days: [{ timeMs: 0, perDay: 2.8, low95: 1.4, high95: 4.2 }],
    },
  ],
  tests: [
    {
      ...alkalinity,
      ...{ done: 1, expected: known(1), missing: known(0), outliers: known(0), inDoubt: known(0) },
      ...{ uncertainty: known(0.28), uncertaintyBy: 'learned' as const, shareInBand: known(1) },
      ...{ band: { low: 7, high: 9.8 }, lastMs: 0 },
      tests: [{ timeMs: 0, value: 8.4, sd: 0.14, valueAt35: 8.4, verdict: 'sound' as const }],
    },
  ],
};
const shown = (units: KeepersUnits) => inKeepersUnits(figures, (metric) => shownUnit(metric, units));

describe('the week in the units of the keeper', () => {
  test('a keeper who reads °F is shown °C, or a swing is moved by the 32 of the scale', () => {
    // °F = °C times 1.8 and 32 more, exact. @source NIST SP 811, appendix B.8
    const { bands, swings } = shown({ temperature: '°F' });
    expect(bands[0]).toMatchObject({ unit: '°F', band: { low: 77, high: 79.7 } });
    expect(bands[0]?.min).toMatchObject({ value: expect.closeTo(75.2, 9) });
    expect(bands[0]?.hours[0]).toMatchObject({ max: expect.closeTo(86, 9) });
    expect(bands[0]?.shareInBand).toEqual(known(0.9));
    expect(swings[0]).toMatchObject({ largestOfDay: { value: expect.closeTo(1.8, 9) }, mostPerDay: { value: 0.9 } });
    expect(swings[0]?.largestOfHour).toEqual({ absent: 'no reading' });
  });

  test('the tests of a keeper who titrates in meq/L come back as other numbers than were typed', () => {
    const { demand, tests } = shown({ alkalinity: 'meq/L' });
    // The German degree is defined by 10 mg/L of CaO, 0.3566 meq/L. @source molar mass of CaO, 56.0774 g/mol
    const perDegree = 20 / 56.0774;
    const value = demand[0]?.perDay;
    expect(value !== undefined && 'value' in value && value.value).toBeCloseTo(2.8 * perDegree, 3);
    expect(tests[0]?.tests[0]?.value).toBeCloseTo(8.4 * perDegree, 3);
    expect(tests[0]?.tests[0]?.sd).toBeCloseTo(0.14 * perDegree, 4);
    expect(tests[0]?.unit).toBe('meq/L');
  });

  test('a metric of which nobody asked is touched', () => {
    expect(shown({})).toEqual(figures);
    expect(shown({ temperature: '°F' }).tests).toEqual(figures.tests);
  });
});
