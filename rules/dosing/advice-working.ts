import { dayMs } from '../clock/durations.ts';
import { atSalinity } from '../seawater/at-salinity.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { shownAs } from '../words/value-text.ts';
import { shown, withUnit } from './advice-facts.ts';
import type { AdviceInput, DailyDose, Predicted } from './advice-types.ts';
import { asOnMeter } from './advice-water.ts';
import type { Worked } from './advice-worked.ts';
import { testRhythmDays } from './next-test.ts';

function everyText(days: number): string {
  const rounded = Number(days.toFixed(1));
  return rounded === 1 ? 'every day' : `every ${rounded} days`;
}

/** How the advice came about, in plain words with the numbers, one step a line. */
export function workingLines(worked: Worked, predicted: Predicted): string[] {
  const { input, estimate, planned, stocks, water, ledger, planPerDay, mostPerDay, choice, holdBacks } = worked;
  const { analyte, system, units } = input;
  const say = (value: number): string => shown(analyte, value, units);
  const { unit, of: inUnit } = shownAs(analyte, 0, units ?? {});
  const middle = (system.band.low + system.band.high) / 2;
  const lines = [...holdBacks.map(({ text }) => text), ...testLines(input, estimate)];
  lines.push(
    `Level now: ${say(estimate.level)} ± ${say(1.96 * estimate.levelSd)} ${unit}. Demand: ${say(estimate.demandPerDay)} ± ${say(1.96 * estimate.demandSd)} ${unit} a day (95 % intervals, ${estimate.testsUsed} tests).`,
    `Current plan: ${say(planPerDay)} ${unit} a day. Demand minus plan: ${say(estimate.demandPerDay - planPerDay)}.`,
    `Band ${say(system.band.low)} to ${say(system.band.high)}, middle ${say(middle)}. Middle minus level: ${say(middle - estimate.level)} ${unit}.`,
    `Largest daily rise: ${say(mostPerDay)} ${unit} on top of what is surely used. Given in the last 24 hours: ${say(ledger.givenInDay)} of at most ${say(ledger.mostInDay)} ${unit}.`,
  );
  if (ledger.beyond > 0) {
    lines.push(
      `That is ${say(ledger.beyond)} ${unit} too much in a day. Nothing takes it out; give nothing on top until tomorrow.`,
    );
  }
  lines.push(
    `Tests come about ${everyText(testRhythmDays(input))}. Acting is worth ${Math.max(0, choice.worth).toFixed(1)} times its effort; from 1 on it is advised.`,
  );
  for (const { stock, strength } of stocks) {
    if (!(strength.risePerUnit > 0)) continue;
    lines.push(
      `1 ${strength.unit} of ${stock.product.name} in ${system.volumeL} L raises ${analyte} by ${Number(inUnit(strength.risePerUnit).toPrecision(4))} ${unit}.`,
    );
  }
  const amount = (dose: DailyDose): string =>
    dose.amountPerDay === undefined ? '' : `, ${dose.amountPerDay} ${dose.unit}`;
  for (const dose of planned.plan) {
    lines.push(`Every day${nameOf(dose)}: ${say(dose.risePerDay)} ${unit}${amount(dose)} in ${slots(dose)}.`);
  }
  for (const dose of planned.today) {
    lines.push(`On top today${nameOf(dose)}: ${say(dose.risePerDay)} ${unit}${amount(dose)} in ${slots(dose)}.`);
  }
  if (predicted.phAfterLargestDose !== undefined && predicted.phBefore !== undefined) {
    const [before, after] = [predicted.phBefore, predicted.phAfterLargestDose].map((ph) =>
      asOnMeter(water, ph).toFixed(2),
    );
    lines.push(
      `Largest single dose: pH ${before} to ${after}, before gas exchange; limit ${system.highestPhAfterDose.value.toFixed(2)} (${water.meterScale === 'nbs' ? 'as a meter in usual buffers shows it' : `${water.meterScale} scale`}).`,
    );
  }
  if (predicted.phForecast !== undefined) {
    const said = predicted.phForecast.map(({ hours, likely, low95, high95 }) => {
      const [ph, low, high] = [likely, low95, high95].map((each) => asOnMeter(water, each).toFixed(2));
      return `${ph} after ${hours} h (${low} to ${high})`;
    });
    lines.push(
      `With the gas exchange of this tank pH is likely ${said.join(', ')}, beside the same hour without the dose.`,
    );
  }
  if (predicted.nightPh !== undefined) {
    const { before, after, low95, high95 } = predicted.nightPh;
    const say = (ph: number): string => asOnMeter(water, ph).toFixed(2);
    const how =
      low95 === undefined || high95 === undefined
        ? 'with a slow gas exchange, since that of this tank is not known'
        : `by the gas exchange of this tank, ${say(low95)} to ${say(high95)}`;
    lines.push(
      `Carbon dioxide of the reactor: the lowest pH of the day goes from ${say(before)} to ${say(after)} (${how}); limit ${say(water.night.leastPhTotal)}.`,
    );
  }
  const end = predicted.withAdvice.at(-1)!;
  const without = predicted.withoutAdvice.at(-1)!;
  lines.push(
    `In ${Math.round((end.timeMs - input.nowMs) / dayMs)} days, if nothing is changed until then: ${say(end.level)} with this, ${say(without.level)} without.`,
  );
  return lines;
}

function nameOf({ product }: { product?: { name: string } }): string {
  return product === undefined ? '' : `, ${product.name}`;
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
  const { analyte, units } = input;
  const say = (value: number): string => withUnit(analyte, value, units);
  const used = input.lastTests.filter((test) => test.isSuspect !== true).slice(-4);
  const newest = used.at(-1);
  if (newest === undefined) return [];
  // The share of the newest test in a level known with levelSd; each older one has the like share of what is left.
  const share = Math.min(1, (estimate.levelSd / (newest.sd ?? estimate.learnedTestSd)) ** 2);
  const lines = used.map((test, i) => {
    const weight = share * (1 - share) ** (used.length - 1 - i);
    const days = (input.nowMs - test.timeMs) / dayMs;
    const at35 = test.salinity === undefined ? '' : ` (${say(atSalinity(test.value, test.salinity))} at salinity 35)`;
    return `Test ${say(test.value)}${at35}, ${days.toFixed(1)} days ago: about ${(100 * weight).toFixed(0)} % of the level.`;
  });
  for (const test of input.lastTests)
    if (test.isSuspect === true) lines.push(`Test ${say(test.value)}: held as suspect, not used.`);
  if (input.dosedSinceOldestTest !== undefined) {
    lines.push(`Doses since the oldest of the tests given: ${say(input.dosedSinceOldestTest)} in all.`);
  }
  lines.push('Level = tests weighted by their uncertainty, carried on by doses given minus demand × days.');
  return lines;
}
