import { dayMs } from '../clock/durations.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { sdsFor95Percent } from '../trend/normal-distribution.ts';
import { adviceFacts, withUnit } from './advice-facts.ts';
import type { AdviceInput, AdviceTest, HoldBack, HoldBackRule } from './advice-types.ts';
import { outOfStep } from './out-of-step.ts';
import { precipitation } from './precipitation.ts';
import { salinityText } from './salinity-text.ts';
import { salinityForDoses } from './water-facts.ts';

type Rule = {
  rule: HoldBackRule;
  whenTrue: (input: AdviceInput, estimate: DemandEstimate, last: AdviceTest) => string | undefined;
};

/** A rise beyond the doses is told only when it rests on so many tests. */
const fewestTests = 4;

const rules: readonly Rule[] = [
  {
    rule: 'outlying_test',
    whenTrue: ({ analyte, units }, estimate, last) => {
      if (!estimate.suspect && last.isSuspect !== true) return undefined;
      return `The last test (${withUnit(analyte, last.value, units)}) does not fit what was known. Retest first: the next test decides whether the water or the test was off.`;
    },
  },
  {
    rule: 'old_test',
    whenTrue: (input, _estimate, last) => {
      const days = (input.nowMs - last.timeMs) / dayMs;
      const goodFor = Math.max(1.5 * (input.testEveryDays ?? 0), adviceFacts[input.analyte].testGoodForDays);
      if (days <= goodFor) return undefined;
      return `The last test is ${days.toFixed(0)} days old, and a dose is built on tests of at most ${goodFor.toFixed(0)} days. Retest first.`;
    },
  },
  {
    rule: 'suspect_salinity',
    whenTrue: ({ water, units }) => {
      const { salinity } = water;
      if (salinity === undefined) return undefined;
      const isSound = salinity.value >= salinityForDoses.low && salinity.value <= salinityForDoses.high;
      if (salinity.isSuspect !== true && isSound) return undefined;
      return (
        `Salinity reads ${salinityText(salinity.value, 1, units)} and is in doubt. Every ion follows it, so a dose could correct what is ` +
        'only diluted or concentrated. Check the salinity, then retest first.'
      );
    },
  },
  { rule: 'may_precipitate', whenTrue: precipitation },
  { rule: 'demands_out_of_step', whenTrue: outOfStep },
  {
    rule: 'interval_wider_than_band',
    whenTrue: ({ analyte, system, units }, estimate) => {
      const { low, high } = system.band;
      const within = sdsFor95Percent * estimate.levelSd;
      const [width, bandWidth] = [2 * within, high - low];
      // Where all of the interval lies on one side of the band, what to do is as plain as with a narrow one.
      if (width <= bandWidth || estimate.level + within < low || estimate.level - within > high) return undefined;
      return `The level is known only within ${withUnit(analyte, width, units)}, wider than the band (${withUnit(analyte, bandWidth, units)}). Retest first.`;
    },
  },
  {
    rule: 'level_rises_unexplained',
    whenTrue: ({ analyte, units }, estimate) => {
      const isRising = estimate.demandPerDay + 2.5 * estimate.demandSd < 0 && estimate.testsUsed >= fewestTests;
      // What food brings rises by itself.
      if (!isRising || adviceFacts[analyte].comesWithFood === true) return undefined;
      return (
        `The level rises by ${withUnit(analyte, -estimate.demandPerDay, units)} a day beyond the logged doses. Look for a dose, a pump ` +
        'or a reactor that is not logged, and retest first.'
      );
    },
  },
];

/**
 * The reasons not to build a dose on these data, each in its own words. Empty when the data carry it.
 *
 * @param estimate  absent: the one reason is that there is no test
 */
export function dataHoldBacks(input: AdviceInput, estimate: DemandEstimate | undefined): HoldBack[] {
  const last = input.lastTests.at(-1);
  if (estimate === undefined || last === undefined) {
    const { label } = adviceFacts[input.analyte];
    return [{ rule: 'no_test', text: `${label} has not been tested yet. Test first: nothing is dosed on a guess.` }];
  }
  return rules.flatMap(({ rule, whenTrue }) => {
    const text = whenTrue(input, estimate, last);
    return text === undefined ? [] : [{ rule, text }];
  });
}
