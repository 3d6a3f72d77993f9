import { dayMs, hourMs } from '../clock/durations.ts';
import { sdsFor95Percent } from '../trend/normal-distribution.ts';
import type { AdviceInput } from './advice-types.ts';
import type { DoseWater } from './advice-water.ts';
import { testRhythmDays } from './next-test.ts';
import { usualUse } from './resumption.ts';
import type { StockInUse } from './stocks-in-use.ts';

/** What the level and the pH, where they are too high, demand of the dosing that runs. */
export type HighSide = {
  /** Most that may be given a day, unit; `Infinity` while nothing is too high. */
  highestPlan: number;
  why?: 'stop' | 'lower' | 'ph';
};

/** A rise between two tests beyond so many standard deviations of one is a rise. */
const risenSds = 2.5;
/** Tests nearer in time than this tell the same water twice. */
const fewestHours = 3;
/** Share of the most a day by which dosing that runs is lowered at a time while nothing proves it too much. */
export const loweredShare = 0.65;
/** What is left of a plan below this share is not worth the pump. */
const stoppedShare = 0.1;

/**
 * Above the band nothing may lift the level on. Where it rises by more than tests scatter (a pump that is stuck, a dose that nobody
 * logged), the plan goes down by as much as it rose and more, to a stop where that is all of it; else it goes down to what is surely
 * used. Never further: a tank that uses several dKH a day and is cut off from all of it is dead before one that is too high.
 *
 * A test that stands alone counts too: a wrong one costs a step down for a day, a true one that is waited for costs corals.
 */
export function highSide(
  input: AdviceInput,
  planPerDay: number,
  mostPerDay: number,
  stocks: readonly StockInUse[],
  water: DoseWater,
): HighSide {
  const { estimate, lastTests, system } = input;
  const last = lastTests.at(-1);
  if (estimate === undefined || last === undefined) return { highestPlan: Number.POSITIVE_INFINITY };
  const isTestedAbove = last.value > system.band.high;
  if (isTestedAbove || estimate.level > system.band.high) {
    // One high test among good ones is most often a slip: a rise counts when all that is known says too high, or two tests in a row.
    const isTrusted = estimate.level > system.band.high || (lastTests.at(-2)?.value ?? 0) > system.band.high;
    const risen = isTestedAbove && isTrusted ? risenPerDay(input) : 0;
    if (risen > 0 && planPerDay > 0) {
      // Whatever comes unbidden goes on coming: the plan makes up for it as far as it can, and no further than to the middle by the next test.
      const toMiddle = (estimate.level - (system.band.low + system.band.high) / 2) / testRhythmDays(input);
      const left = Math.max(planPerDay - risen - loweredShare * mostPerDay, estimate.demandPerDay - toMiddle);
      return left > stoppedShare * planPerDay ? { highestPlan: left, why: 'lower' } : { highestPlan: 0, why: 'stop' };
    }
    const surelyUsed = Math.max(0, estimate.demandPerDay - sdsFor95Percent * estimate.demandSd);
    // Dosing that is stopped begins again below the use, while the level still falls.
    return { highestPlan: Math.max(surelyUsed, planPerDay - loweredShare * mostPerDay), why: 'lower' };
  }
  const alkaline = stocks
    .filter(({ strength }) => ['carbonate', 'hydroxide', 'unknown'].includes(strength.addition))
    .reduce((sum, { risePerDay }) => sum + risePerDay, 0);
  // Below the band the level is the greater danger: then what lifts the pH is not lowered, and given no more of.
  if (input.analyte === 'alkalinity' && water.isPhPastLimit && alkaline > 0 && estimate.level >= system.band.low) {
    // Half of what lifts the pH, and no more than the level may fall in a day.
    return { highestPlan: planPerDay - Math.min(alkaline / 2, loweredShare * mostPerDay), why: 'ph' };
  }
  return { highestPlan: Number.POSITIVE_INFINITY };
}

/**
 * How fast the level rose between the last two tests beyond what doses and the usual use explain, unit a day; 0 while that is no more than
 * tests scatter.
 */
function risenPerDay(input: AdviceInput): number {
  const { lastTests, estimate } = input;
  const last = lastTests.at(-1)!;
  const before = lastTests.findLast(({ timeMs }) => timeMs <= last.timeMs - fewestHours * hourMs);
  const sd = last.sd ?? estimate?.learnedTestSd ?? 0;
  if (before === undefined) return 0;
  const risen = last.value - before.value - explainedRise(input, before.timeMs, last.timeMs);
  return risen <= risenSds * sd ? 0 : (risen * dayMs) / (last.timeMs - before.timeMs);
}

function explainedRise({ doses = [], pastDemands }: AdviceInput, fromMs: number, toMs: number): number {
  const used = usualUse(pastDemands);
  if (used === undefined) return 0;
  const between = doses.filter(({ timeMs }) => timeMs > fromMs && timeMs <= toMs);
  const dosed = between.reduce((sum, { rise }) => sum + rise, 0);
  return Math.max(0, dosed - (Math.max(0, used) * (toMs - fromMs)) / dayMs);
}
