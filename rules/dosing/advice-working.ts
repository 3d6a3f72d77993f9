import type { DemandEstimate } from '../trend/demand-filter.ts';
import type { PlannedDoses } from './advice-doses.ts';
import { adviceFacts, dayMs, shown } from './advice-facts.ts';
import type { WantedPlan } from './advice-plan.ts';
import type { Strength } from './advice-product.ts';
import type { AdviceInput, DailyDose, Predicted } from './advice-types.ts';

/** How the advice came about, in plain words with the numbers, one step a line. */
export function workingLines(
  input: AdviceInput,
  estimate: DemandEstimate,
  wanted: WantedPlan,
  planned: PlannedDoses,
  strength: Strength | undefined,
  predicted: Predicted,
): string[] {
  const { analyte, system } = input;
  const { unit } = adviceFacts[analyte];
  const say = (value: number): string => shown(analyte, value);
  const lines = [...testLines(input, estimate)];
  lines.push(
    `Level now: ${say(estimate.level)} ± ${say(1.96 * estimate.levelSd)} ${unit}. Demand: ${say(estimate.demandPerDay)} ± ${say(1.96 * estimate.demandSd)} ${unit} a day (95 % intervals, ${estimate.testsUsed} tests).`,
    `Plan of now: ${say(input.currentPlanPerDay)} ${unit} a day. Demand minus plan: ${say(estimate.demandPerDay - input.currentPlanPerDay)}; a change counts when it is larger than the demand's own ± ${say(1.96 * estimate.demandSd)}.`,
    `Band ${say(system.band.low)} to ${say(system.band.high)}, middle ${say(wanted.middle)}. Middle minus level: ${say(wanted.middle - estimate.level)} ${unit}. Most net rise a day: ${say(wanted.mostPerDay)} ${unit}.`,
  );
  if (strength !== undefined) {
    lines.push(
      `1 ${strength.unit} of ${strength.product.name} in ${system.volumeL} L raises ${analyte} by ${strength.risePerUnit.toPrecision(4)} ${unit}.`,
    );
  }
  const amount = (dose: DailyDose, value: number | undefined): string =>
    value === undefined ? '' : `, ${value} ${dose.unit}`;
  const { maintenance, correction } = planned;
  if (maintenance) {
    lines.push(
      `Every day: ${say(maintenance.risePerDay)} ${unit}${amount(maintenance, maintenance.amountPerDay)} in ${slots(maintenance)}` +
        (strength === undefined
          ? '.'
          : ` = ${say(wanted.risePerDay)} / ${strength.risePerUnit.toPrecision(4)}, rounded.`),
    );
  }
  if (correction) {
    const days = correction.riseOnDay.map((rise) => say(rise)).join(' + ');
    lines.push(
      `On top: ${days} = ${say(correction.totalRise)} ${unit}${amount(correction, correction.totalAmount)} over ${correction.days} days, each day in ${slots(correction)}.`,
    );
  }
  if (predicted.phAfterLargestDose !== undefined && predicted.phBefore !== undefined) {
    lines.push(
      `Largest single dose: pH ${predicted.phBefore.toFixed(2)} to ${predicted.phAfterLargestDose.toFixed(2)} (total scale, before gas exchange); limit ${system.highestPhAfterDose.toFixed(2)}.`,
    );
  }
  const end = predicted.withAdvice.at(-1)!;
  const without = predicted.withoutAdvice.at(-1)!;
  lines.push(
    `In ${Math.round((end.timeMs - input.nowMs) / dayMs)} days: ${say(end.level)} with this, ${say(without.level)} without.`,
  );
  return lines;
}

/** The doses of a day, as a pump is set. */
function slots({ dosesPerDay, largestDose, unit, hoursApart }: DailyDose): string {
  if (dosesPerDay <= 1) return 'one dose';
  const each = largestDose === undefined ? '' : ` of ${Number(largestDose.toFixed(2))} ${unit}`;
  const apart =
    hoursApart < 1 ? `${Math.round(60 * hoursApart)} minutes` : `${hoursApart} ${hoursApart === 1 ? 'hour' : 'hours'}`;
  return `${dosesPerDay} doses${each}, ${apart} apart`;
}

/** The tests behind the level with the share that each has in it. */
export function testLines(input: AdviceInput, estimate: DemandEstimate): string[] {
  const { analyte } = input;
  const { unit } = adviceFacts[analyte];
  const used = input.lastTests.filter((test) => test.isSuspect !== true).slice(-4);
  const newest = used.at(-1);
  if (newest === undefined) return [];
  // The share of the newest test in a level known with levelSd; each older one has the like share of what is left.
  const share = Math.min(1, (estimate.levelSd / (newest.sd ?? estimate.learnedTestSd)) ** 2);
  const lines = used.map((test, i) => {
    const weight = share * (1 - share) ** (used.length - 1 - i);
    const days = (input.nowMs - test.timeMs) / dayMs;
    return `Test ${shown(analyte, test.value)} ${unit}, ${days.toFixed(1)} days ago: about ${(100 * weight).toFixed(0)} % of the level.`;
  });
  for (const test of input.lastTests)
    if (test.isSuspect === true) lines.push(`Test ${shown(analyte, test.value)} ${unit}: held as suspect, not used.`);
  if (input.dosedSinceOldestTest !== undefined) {
    lines.push(
      `Doses since the oldest of the tests given: ${shown(analyte, input.dosedSinceOldestTest)} ${unit} in all.`,
    );
  }
  lines.push('Level = tests weighted by their uncertainty, carried on by doses given minus demand × days.');
  return lines;
}
