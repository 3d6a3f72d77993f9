import { describe, expect, it } from 'vitest';
import type { DemandEvidence } from '#rules/trend/demand-filter.ts';
import { demandHistory, type HistoryPoint } from '#rules/trend/demand-history.ts';

// Invented diaries of an undosed or steadily dosed tank whose truth is plain from the numbers.
const dayMs = 86_400_000;
const start = Date.UTC(2026, 1, 1, 18);
type Entry = { timeMs: number; evidence: DemandEvidence };
const at = (day: number, evidence: DemandEvidence): Entry => ({ timeMs: start + day * dayMs, evidence });
const tested = (values: readonly number[], from = 0) =>
  values.map((value, day) => at(from + day, { is: 'test', value, sd: 0.1 }));
const history = (diary: Entry[], everyMs?: number) => demandHistory(diary, { analyte: 'alkalinity' }, everyMs);
/** After what happened at that moment. */
const on = (points: HistoryPoint[], day: number) => points.findLast(({ timeMs }) => timeMs === start + day * dayMs)!;

describe('what happened between tests', () => {
  it('half of the water at 6 is taken for a day in which the corals used a whole degree', () => {
    const change = (newLevel?: number) =>
      at(3.5, { is: 'water_change', share: 0.5, ...(newLevel === undefined ? {} : { newLevel }) });
    const points = history([...tested([8, 8, 8, 8]), change(6), ...tested([7, 7, 7, 7], 4)]);
    // By hand: half of 8 and half of 6.
    expect(on(points, 3.5).level).toBeCloseTo(7, 1);
    for (const { demandPerDay } of points) expect(Math.abs(demandPerDay)).toBeLessThan(0.15);
    // Water that nobody tested is less sure to be what it is taken for.
    const guessed = history([...tested([8, 8, 8, 8]), change()]);
    const known = history([...tested([8, 8, 8, 8]), change(6)]);
    expect(guessed.at(-1)!.levelSd).toBeGreaterThan(known.at(-1)!.levelSd + 0.05);
  });

  it('a dose is taken for a demand that fell', () => {
    const points = history([...tested([8, 8, 8, 8]), at(3.5, { is: 'dose', rise: 1 }), ...tested([9, 9, 9, 9], 4)]);
    expect(on(points, 3.25).level).toBeCloseTo(8, 1);
    expect(on(points, 3.5).level).toBeCloseTo(9, 1);
    for (const { demandPerDay } of points) expect(Math.abs(demandPerDay)).toBeLessThan(0.15);
    // A dose before the first test says nothing yet.
    const early = history([at(-1, { is: 'dose', rise: 5 }), ...tested([8, 8])]);
    expect(early[0]).toMatchObject({ timeMs: start, test: { value: 8, isUsed: true } });
  });

  it('corals that were added and told of are not noticed within two days', () => {
    // Half a degree a day is used and dosed for ten days; from then on 0.8 is used, so that the level falls by 0.3 a day.
    const doses = Array.from({ length: 15 }, (_, day) => at(day + 0.5, { is: 'dose', rise: 0.5 }));
    const tests = tested([...Array(10).fill(8), 8, 7.7, 7.4, 7.1, 6.8]);
    const added: Entry = at(9.9, { is: 'step_expected' });
    const demandOn = (diary: Entry[]) =>
      on(history(diary.toSorted((one, other) => one.timeMs - other.timeMs)), 12).demandPerDay;
    expect(demandOn([...tests, ...doses, added])).toBeCloseTo(0.8, 1);
  });

  it('a jump that the next test confirms is smeared over the days before, or its test is thrown away', () => {
    const values = [8, 8, 8, 8, 8, 8, 6, 6, 6];
    const points = history(tested(values)).filter(({ test }) => test !== undefined);
    expect(points.map(({ test }) => test!.isUsed)).toEqual(Array(9).fill(true));
    expect(points[5]!.level).toBeCloseTo(8, 0);
    expect(points[6]!.level).toBeCloseTo(6, 0);
  });
});

describe('the points of the plot', () => {
  it('lie further apart than was asked for, or two on one moment', () => {
    // Seven days of tests, four points a day, and the last.
    const points = history(tested(Array(8).fill(8)));
    expect(points).toHaveLength(29);
    expect(points.map(({ timeMs }) => timeMs)).toEqual(Array.from({ length: 29 }, (_, at) => start + (at * dayMs) / 4));
    expect(history(tested(Array(8).fill(8)), dayMs)).toHaveLength(8);
  });
});
