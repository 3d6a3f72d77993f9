import { describe, expect, test } from 'vitest';
import { adviseDose } from '#rules/dosing/advice.ts';
import { shown } from '#rules/dosing/advice-facts.ts';
import { dataHoldBacks } from '#rules/dosing/advice-hold-backs.ts';
import type { AdviceInput } from '#rules/dosing/advice-types.ts';
import { dayMs, example, now, withEstimate } from './advice-case.ts';

/** The reason of one rule, or undefined when it lets the data pass. */
const told = (rule: string, input: AdviceInput) =>
  dataHoldBacks(input, input.estimate).find((each) => each.rule === rule)?.text;
const tested = (...daysAgo: number[]): Pick<AdviceInput, 'lastTests'> => ({
  lastTests: daysAgo.map((days) => ({ timeMs: now - days * dayMs, value: 7.9 })),
});

describe('a dose is built on data that do not carry it', () => {
  // Days that a test is good for: common practice, no published source; with an interval of the keeper, one and a half of it.
  test.each([
    ['alkalinity', undefined, 5],
    ['calcium', undefined, 10],
    ['magnesium', undefined, 21],
    ['alkalinity', 7, 10.5],
    ['magnesium', 7, 21],
  ] as const)('a test of %s, every %s days, that is older than %d days', (analyte, testEveryDays, days) => {
    const at = (age: number): AdviceInput => ({
      ...{ ...example, analyte, ...tested(age + 30, age + 20, age) },
      ...(testEveryDays === undefined ? {} : { testEveryDays }),
    });
    expect(told('old_test', at(days))).toBeUndefined();
    expect(told('old_test', at(days + 0.01))).toBe(
      `The last test is ${days.toFixed(0)} days old, and a dose is built on tests of at most ${days.toFixed(0)} days. Retest first.`,
    );
  });

  test('a volume that the doses speak against goes unsaid where something is poured', () => {
    const volumeDoubt = '420 L stated, 340 ± 25 by your doses.';
    const doubted = (level: number) => {
      const input = withEstimate({ level, demandPerDay: 1.6 });
      return adviseDose({ ...input, system: { ...input.system, volumeDoubt } });
    };
    expect(doubted(7.6).cautions).toContain(volumeDoubt);
    expect(adviseDose({ ...example, system: { ...example.system, volumeDoubt } }).cautions).toEqual([]);
  });

  test('no test at all', () => {
    const { estimate: _, ...unknown } = example;
    for (const input of [unknown, { ...example, ...tested() }]) {
      const advice = adviseDose(input);
      expect(advice.holdBacks).toEqual([
        { rule: 'no_test', text: 'Alkalinity has not been tested yet. Test first: nothing is dosed on a guess.' },
      ]);
    }
  });

  test('salinity at which no test of an ion is a reason to dose, or that is in doubt', () => {
    const at = (value: number, isSuspect = false) =>
      told('suspect_salinity', { ...example, water: { salinity: { value, ageMs: 0, isSuspect } } });
    // Common practice, no published source.
    expect([at(29), at(40)]).toEqual([undefined, undefined]);
    for (const value of [28.9, 40.1, 1.025]) expect(at(value)).toContain(`Salinity reads ${value.toFixed(1)}`);
    expect(at(35, true)).toBe(
      'Salinity reads 35.0 and is in doubt. Every ion follows it, so a dose could correct what is only diluted or concentrated. ' +
        'Check the salinity, then retest first.',
    );
  });

  test('a level that may lie anywhere in its band', () => {
    // By hand: 2 × 1.96 × 0.4 = 1.57 beside a band of 1.5.
    expect(told('interval_wider_than_band', withEstimate({ levelSd: 0.4 }))).toBe(
      'The level is known only within 1.57 dKH, wider than the band (1.50 dKH). Retest first.',
    );
    expect(told('interval_wider_than_band', withEstimate({ levelSd: 0.38 }))).toBeUndefined();
  });

  test('a level that rises by itself, and not by the noise of tests or on two of them', () => {
    const rising = (demandPerDay: number, testsUsed = 4, demandSd = 0.03) =>
      told('level_rises_unexplained', withEstimate({ demandPerDay, testsUsed, demandSd }));
    expect(rising(-0.4)).toBe(
      'The level rises by 0.40 dKH a day beyond the logged doses. Look for a dose, a pump or a reactor that is not logged, and retest first.',
    );
    // By hand: 2.5 × 0.03 = 0.075.
    expect([rising(-0.07), rising(-0.4, 3), rising(0.5)]).toEqual([undefined, undefined, undefined]);
    expect(rising(-0.08)).toBeDefined();
  });
});

test('a number reads as none, or as minus none, or with decimals that no test has', () => {
  const read = [9.96, 10, 425.4, 7.14, 0.04, -0.04, -7.14].map((value) => shown('calcium', value));
  expect(read).toEqual(['10.0', '10', '425', '7.1', '0.0', '0.0', '\u22127.1']);
  expect([7.5, 0.004, -0.004, 12].map((value) => shown('alkalinity', value))).toEqual([
    '7.50',
    '0.00',
    '0.00',
    '12.00',
  ]);
});
