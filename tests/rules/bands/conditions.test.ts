import { expect, test } from 'vitest';
import { conditionAbove, conditionBelow } from '#rules/bands/condition.ts';
import { emptyDayCycle } from '#rules/bands/day-cycle.ts';
import {
  calciumPerAlkalinity_mgL_per_dKH,
  outOfStepCondition,
} from '#rules/bands/kinds/calcium-alkalinity-out-of-step.ts';
import { demandCondition, usualDemand, withReport } from '#rules/bands/kinds/demand-changed.ts';
import { departureCondition } from '#rules/bands/kinds/departure.ts';
import { dosedNotMovedCondition } from '#rules/bands/kinds/dosed-not-moved.ts';
import { disagreement } from '#rules/bands/kinds/probes-disagree.ts';
import { dayMs, mondayMs } from './script.ts';

/** What each rule says at its edges. Limits are common practice, no published source, unless a line names one. */

test.each([
  // value, limit, deadband, above, below
  [26.51, 26.5, 0.25, 'abnormal', 'deadband'],
  [26.5, 26.5, 0.25, 'deadband', 'deadband'],
  [26.3, 26.5, 0.25, 'deadband', 'abnormal'],
  [26.25, 26.5, 0.25, 'normal', 'abnormal'],
  [26.75, 26.5, 0.25, 'abnormal', 'normal'],
  [26.6, 26.5, 0.25, 'abnormal', 'deadband'],
  [26.5, 26.5, 0, 'normal', 'normal'],
] as const)('water at %s beside an edge of %s is misjudged', (value, limit, deadband, above, below) => {
  expect(conditionAbove(value, limit, deadband)).toBe(above);
  expect(conditionBelow(value, limit, deadband)).toBe(below);
});

test.each([
  // days known, spread, distance, limit, deadband
  [7, 0, undefined, 0.5, 0.25, 'unknown'],
  [7, 0, 0.5, 0.5, 0.25, 'deadband'],
  [7, 0, 0.51, 0.5, 0.25, 'abnormal'],
  [7, 0, -0.51, 0.5, 0.25, 'abnormal'],
  [7, 0, 0.25, 0.5, 0.25, 'normal'],
  // Twice as far, and twice the deadband, until a week is known.
  [6, 0, 0.99, 0.5, 0.25, 'deadband'],
  [6, 0, 1.01, 0.5, 0.25, 'abnormal'],
  [6, 0, 0.5, 0.5, 0.25, 'normal'],
  [6, 0, 0.55, 0.5, 0.25, 'deadband'],
  // What five of the stream's own spreads do is usual.
  [7, 0.2, 0.99, 0.5, 0.25, 'deadband'],
  [7, 0.2, 1.01, 0.5, 0.25, 'abnormal'],
  // A deadband wider than the limit must leave a place to return to.
  [7, 0, 0.05, 0.1, 0.3, 'deadband'],
  [7, 0, 0, 0.1, 0.3, 'normal'],
] as const)(
  'with %s days and a spread of %s a distance of %s is misjudged',
  (knownDays, spread, far, limit, dead, is) => {
    expect(departureCondition({ ...emptyDayCycle(), knownDays, spread }, far, limit, dead)).toBe(is);
  },
);

test('calcium and alkalinity out of step are missed, or called so by noise, by old tests or without a demand', () => {
  // CaCO3: one mole of calcium with two equivalents of alkalinity; 40.078 g and 2 x 2.80385 dKH L (IUPAC weights).
  const expected = 40.078 / (2 * 2.80385);
  expect(calciumPerAlkalinity_mgL_per_dKH).toBeCloseTo(expected, 3);
  const alkalinity = { timeMs: mondayMs, perDay: 1, sd: 0 };
  const calcium = (share: number, sd = 0, days = 0) => ({
    timeMs: mondayMs + days * dayMs,
    perDay: share * expected,
    sd,
  });
  const of = (alk: typeof alkalinity | undefined, ca: typeof alkalinity | undefined) =>
    outOfStepCondition(alk, ca, 0.4, 0.15);
  expect(of(undefined, calcium(2))).toBe('unknown');
  expect(of(alkalinity, undefined)).toBe('unknown');
  expect(of(alkalinity, calcium(1.42))).toBe('abnormal');
  expect(of(alkalinity, calcium(0.58))).toBe('abnormal');
  expect(of(alkalinity, calcium(1.38))).toBe('deadband');
  expect(of(alkalinity, calcium(1.26))).toBe('deadband');
  expect(of(alkalinity, calcium(0.76))).toBe('normal');
  // Two standard deviations of either demand hide the difference; 0.42 of 7.147 mg/L is 3.0 mg/L.
  expect(of(alkalinity, calcium(1.42, 1.4))).toBe('abnormal');
  expect(of(alkalinity, calcium(1.42, 1.6))).toBe('deadband');
  expect(of({ ...alkalinity, sd: 0.2 }, calcium(1.42))).toBe('abnormal');
  expect(of({ ...alkalinity, sd: 0.22 }, calcium(1.42))).toBe('deadband');
  expect(of({ ...alkalinity, sd: 0.16 }, calcium(1.42, 1.2))).toBe('deadband');
  expect(of(alkalinity, calcium(2, 0, 14))).toBe('abnormal');
  expect(of(alkalinity, calcium(2, 0, -14))).toBe('abnormal');
  expect(of(alkalinity, calcium(2, 0, 14.01))).toBe('unknown');
  expect(of(alkalinity, calcium(2, 0, -14.01))).toBe('unknown');
  expect(of({ ...alkalinity, perDay: 0.1 }, calcium(2))).toBe('abnormal');
  expect(of({ ...alkalinity, perDay: 2 }, calcium(2.1))).toBe('normal');
  // At a limit just reached: not yet, and back again.
  const exact = calciumPerAlkalinity_mgL_per_dKH;
  expect(outOfStepCondition(alkalinity, calcium(0), 1, 0.25)).toBe('deadband');
  expect(outOfStepCondition(alkalinity, calcium(0), 1.25, 0.25)).toBe('normal');
  expect(outOfStepCondition(alkalinity, { ...calcium(0), sd: exact / 2 }, 0.5, 0.25)).toBe('deadband');
  expect(of({ ...alkalinity, perDay: 0.099 }, calcium(2))).toBe('unknown');
});

const report = (day: number, perDay: number, sd = 0) => ({ timeMs: mondayMs + day * dayMs, perDay, sd });

test('a demand is remembered twice for one day, for ever, or from a clock that ran ahead', () => {
  const known = [report(0.2, 1), report(1.2, 2)];
  expect(withReport(known, report(1.9, 3))).toEqual([known[0], report(1.9, 3)]);
  expect(withReport(known, report(2.1, 3))).toEqual([...known, report(2.1, 3)]);
  expect(withReport(known, report(0.9, 3))).toEqual([report(0.9, 3)]);
  expect(withReport([report(0, 1)], report(29, 2))).toHaveLength(2);
  expect(withReport([report(0, 1)], report(29.01, 2))).toEqual([report(29.01, 2)]);
});

test('what was usual is taken from the last days, or from too few', () => {
  const days = [report(0, 1), report(1, 4), report(2, 2), report(3, 3), report(4, 9), report(5, 9)];
  expect(usualDemand(days, mondayMs + 6 * dayMs)).toBe(2.5);
  expect(usualDemand(days, mondayMs + 6 * dayMs - 1)).toBeUndefined();
});

test('a demand that changed is missed, or its own noise is told', () => {
  const before = [0, 1, 2, 3].map((day) => report(day, 2));
  const of = (perDay: number, sd = 0) => demandCondition([...before, report(7, perDay, sd)], 0.3, 0.15);
  expect(demandCondition([], 0.3, 0.15)).toBe('unknown');
  expect(demandCondition([report(7, 3)], 0.3, 0.15)).toBe('unknown');
  expect(demandCondition([...[0, 1, 2, 3].map((day) => report(day, 0)), report(7, 3)], 0.3, 0.15)).toBe('unknown');
  expect(of(2.62)).toBe('abnormal');
  expect(of(1.38)).toBe('abnormal');
  expect(of(2.58)).toBe('deadband');
  expect(of(2.32)).toBe('deadband');
  expect(of(2.28)).toBe('normal');
  expect(of(3, 0.49)).toBe('abnormal');
  expect(of(3, 0.5)).toBe('deadband');
  // Exactly the limit of three tenths: not yet.
  expect(demandCondition([...before, report(7, 2.5)], 0.25, 0.15)).toBe('deadband');
  expect(demandCondition([...before, report(7, 2.5)], 0.5, 0.25)).toBe('normal');
});

test('doses that never arrived are missed, or small ones and old tests are held against the container', () => {
  const tested = (day: number, value: number, sd?: number) => ({
    timeMs: mondayMs + day * dayMs,
    value,
    ...(sd === undefined ? {} : { sd }),
  });
  const dosed = (day: number, raisesBy: number) => ({ timeMs: mondayMs + day * dayMs, raisesBy });
  const of = (
    tests: ReturnType<typeof tested>[],
    doses: ReturnType<typeof dosed>[],
    perDay: number | undefined = 0.5,
    metric: 'alkalinity' | 'orp' = 'alkalinity',
  ) => dosedNotMovedCondition(metric, tests, doses, perDay, 0.5, 0.2);
  const first = tested(0, 8);
  expect(of([], [])).toBe('unknown');
  expect(of([first], [dosed(0.5, 2)])).toBe('unknown');
  expect(dosedNotMovedCondition('alkalinity', [first, tested(2, 8)], [dosed(1, 2)], undefined, 0.5, 0.2)).toBe(
    'unknown',
  );
  // Two days use 1 dKH: 2 dKH were dosed, so the water should stand 1 higher.
  expect(of([first, tested(2, 9)], [dosed(1, 2)])).toBe('normal');
  expect(of([first, tested(2, 7)], [dosed(1, 2)])).toBe('abnormal');
  expect(of([first, tested(2, 8.1)], [dosed(1, 2)])).toBe('deadband');
  expect(of([first, tested(2, 8.41)], [dosed(1, 2)])).toBe('normal');
  expect(of([first, tested(2, 7.9)], [dosed(1, 2)])).toBe('abnormal');
  // Spread over two doses it is the same; before the first test or after the second it is no part of it.
  expect(of([first, tested(2, 7)], [dosed(0.5, 1), dosed(1, 1)])).toBe('abnormal');
  expect(of([first, tested(2, 7)], [dosed(0, 2)])).toBe('unknown');
  expect(of([first, tested(2, 7)], [dosed(2, 2)])).toBe('abnormal');
  expect(of([first, tested(2, 7)], [dosed(2.01, 2)])).toBe('unknown');
  // Below three standard deviations of two tests (0.2 each: 0.85 dKH) a rise cannot be seen.
  expect(of([first, tested(2, 6)], [dosed(1, 0.84)])).toBe('unknown');
  expect(of([first, tested(2, 6)], [dosed(1, 0.86)])).toBe('abnormal');
  expect(of([tested(0, 8, 0.6), tested(2, 6)], [dosed(1, 1.8)])).toBe('unknown');
  expect(of([first, tested(2, 6, 0.6)], [dosed(1, 1.8)])).toBe('unknown');
  expect(of([tested(0, 8, 0.1), tested(2, 6, 0.1)], [dosed(1, 0.5)])).toBe('abnormal');
  // Small daily doses: the latest test before which enough was dosed counts, and none older than ten days.
  const daily = Array.from({ length: 12 }, (_, day) => dosed(day + 0.5, 0.5));
  expect(of([tested(0, 8), tested(1, 8), tested(2, 7)], daily)).toBe('abnormal');
  expect(of([tested(0, 8), tested(1, 8), tested(2, 8)], daily)).toBe('normal');
  expect(of([tested(0, 8), tested(10, 3)], daily)).toBe('abnormal');
  expect(of([tested(0, 8), tested(10.01, 3)], daily)).toBe('unknown');
  // More than half is missing, but less than two standard deviations of the tests.
  expect(of([tested(0, 8, 0.3), tested(2, 7.6, 0.3)], [dosed(1, 1.3)])).toBe('deadband');
  expect(of([tested(0, 8, 0.3), tested(2, 7.4, 0.3)], [dosed(1, 1.3)])).toBe('abnormal');
  // At a limit just reached (half is missing; 1 dKH is two standard deviations of 0.3 and 0.4): not yet, and back again.
  expect(of([first, tested(2, 8)], [dosed(1, 2)])).toBe('deadband');
  expect(of([tested(0, 8, 0.3), tested(2, 7.75, 0.4)], [dosed(1, 1.75)])).toBe('deadband');
  expect(dosedNotMovedCondition('alkalinity', [first, tested(2, 8.5)], [dosed(1, 2)], 0.5, 0.5, 0.25)).toBe('normal');
  // Without a stated doubt, and none usual for the analyte, any dose should show.
  expect(of([first, tested(2, 7)], [dosed(1, 0.1)], 0, 'orp')).toBe('abnormal');
  expect(of([first, tested(2, 7)], [], 0, 'orp')).toBe('unknown');
});

test('probes that differ are not told, or a sound one is blamed', () => {
  expect(disagreement([])).toBeUndefined();
  expect(disagreement([{ probe: 'a', value: 25 }])).toBeUndefined();
  expect(
    disagreement([
      { probe: 'a', value: 25 },
      { probe: 'b', value: 26 },
    ]),
  ).toEqual({ difference: 1, odd: 'a' });
  const three = (a: number, b: number, c: number) =>
    disagreement([
      { probe: 'a', value: a },
      { probe: 'b', value: b },
      { probe: 'c', value: c },
    ]);
  expect(three(25, 25.125, 27)).toEqual({ difference: 2, odd: 'c' });
  expect(three(25, 23, 25.125)).toEqual({ difference: 2.125, odd: 'b' });
  expect(three(27, 25, 25.125)).toEqual({ difference: 2, odd: 'a' });
});
