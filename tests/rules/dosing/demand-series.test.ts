import { describe, expect, it } from 'vitest';
import { estimateSeries, type TestRow } from '#rules/dosing/demand-series.ts';

const dayMs = 86_400_000;
const start = Date.UTC(2026, 2, 2, 19);
const at = (day: number): number => start + day * dayMs;
const test = (day: number, value: number, more: Partial<TestRow> = {}): TestRow => ({
  ...{ timeMs: at(day), system: 'display', analyte: 'alkalinity', value, sd: 0.05 },
  ...more,
});
const options = { volumeL: 400, analyte: 'alkalinity' as const };

describe('demand from the keeper’s three files', () => {
  it('doses of sodium bicarbonate are counted by their table strength', () => {
    // fixtures/reference/dosing-stoichiometry.csv: 2.996086 g NaHCO3 for 1 dKH in 100 L, so 11.984 g in 400 L.
    const days = [...Array(12).keys()];
    const tests = days.map((day) => test(day, 8));
    const doses = days.map((day) => ({
      ...{ timeMs: at(day) + 3_600_000, system: 'display', substance: 'sodium bicarbonate', grams: 11.984 },
    }));
    const rows = estimateSeries(tests, doses, [], options);
    expect(rows).toHaveLength(12);
    expect(rows.at(-1)!.demandPerDay).toBeCloseTo(1, 1);
    expect(rows.at(-1)!.level).toBeCloseTo(8, 1);
  });

  it('a water change is not taken for demand', () => {
    const tests = [test(0, 8), test(2, 8), test(4, 8), test(6, 8), test(7, 8.6), test(9, 8.6), test(11, 8.6)];
    // By hand: a fifth of the water at 11 dKH lifts 8 to 8.6.
    const change = { timeMs: at(6.5), system: 'display', volumeL: 80, alkalinity_dKH: 11 };
    const rows = estimateSeries(tests, [], [change], options);
    expect(Math.abs(rows.at(-1)!.demandPerDay)).toBeLessThan(0.03);
    expect(rows.every((row) => !row.suspect)).toBe(true);
  });

  it('rows are written by what was known then: later tests change nothing before', () => {
    const tests = [8, 7.6, 7.1, 6.9, 6.3, 9].map((value, day) => test(day, value));
    const all = estimateSeries(tests, [], [], options);
    expect(estimateSeries(tests.slice(0, 4), [], [], options)).toEqual(all.slice(0, 4));
  });

  it('another system, another analyte and the order of lines in the file make no difference', () => {
    const tests = [8, 7.8, 7.6].map((value, day) => test(day, value));
    const others = [test(1, 430, { analyte: 'calcium' }), test(1, 12, { system: 'frags' })];
    const rows = estimateSeries([...others, ...tests.toReversed()], [], [], options);
    expect(rows.filter((row) => row.system === 'display')).toEqual(estimateSeries(tests, [], [], options));
    expect(rows.map((row) => row.system)).toEqual(['display', 'display', 'display', 'frags']);
  });

  it('an unknown powder is refused by name, not taken for nothing', () => {
    const dose = { timeMs: at(0), system: 'display', substance: 'magic powder', grams: 5 };
    expect(() => estimateSeries([test(0, 8)], [dose], [], options)).toThrow('unknown substance "magic powder"');
  });
});
