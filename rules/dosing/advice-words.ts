import { dayMs } from '../clock/durations.ts';
import { sdsFor95Percent } from '../trend/normal-distribution.ts';
import { adviceFacts, daysAhead, shown, withUnit } from './advice-facts.ts';
import type { Advice, AdviceInput, PlanChange, TodayDose } from './advice-types.ts';
import type { Worked } from './advice-worked.ts';
import { inDays, inSentence, testSooner } from './next-test.ts';
import { resumption } from './resumption.ts';

/** One or two plain sentences: what to do and why. */
export function reasonOf(worked: Worked): string {
  const { input, estimate, planned, side, isAboveBand } = worked;
  const { analyte, system } = input;
  const say = (value: number): string => withUnit(analyte, value, input.units);
  const middle = (system.band.low + system.band.high) / 2;
  const parts: string[] = [`${adviceFacts[analyte].label} is ${say(estimate.level)}${where(worked, middle)}.`];
  if (side.why === 'stop')
    parts.push('It rises although the plan does not explain it: stop the dosing and look at the pump now.');
  else if (side.why === 'ph') parts.push('pH is past its limit, and part of the dosing lifts it.');
  else if (isAboveBand) parts.push(tooHigh(worked));
  parts.push(...planSentences(worked));
  if (planned.today.length > 0) parts.push(todaySentence(planned.today, input));
  if (planned.plan.length === 0 && planned.today.length === 0 && !isAboveBand && side.why === undefined) {
    parts.push(
      planned.cutBy === undefined ? 'The plan fits as far as the tests can tell. Change nothing.' : planned.cutBy.text,
    );
  }
  const again = resumeSentence(worked);
  if (again !== undefined) parts.push(again);
  const sooner = testSooner(input, estimate);
  if (sooner !== undefined) {
    const atMs = input.nowMs + sooner.days * dayMs;
    const within = say(sdsFor95Percent * sooner.levelSdThen);
    parts.push(
      `Test sooner than usual, ${inDays(input.nowMs, atMs)}: by the usual day the level is known only within ± ${within}.`,
    );
  }
  return parts.join(' ');
}

/** The reason not to give more, and what becomes of the dosing that runs. */
export function heldBackReason(worked: Worked): string {
  const { input, holdBacks, planned, planPerDay, side } = worked;
  const first = holdBacks[0]!.text;
  if (planned.plan.length > 0) {
    const isMore = planned.risePerDay > planPerDay;
    const why =
      side.why === 'stop'
        ? 'The level is too high and rises: stop the dosing now.'
        : isMore
          ? 'Until then give again what the corals may use.'
          : 'Until then lower the dosing.';
    const again = resumeSentence(worked);
    return [first, why, ...planSentences(worked), ...(again === undefined ? [] : [again])].join(' ');
  }
  const level = input.lastTests.at(-1)!.value;
  if (level > input.system.band.high && planPerDay <= 0) return `${first} Until then no dose.`;
  return planPerDay > 0
    ? `${first} Until then leave the daily dosing as it is; no extra dose.`
    : `${first} Until then no dose.`;
}

function where({ input, estimate }: Worked, middle: number): string {
  const { band } = input.system;
  const off = estimate.level - middle;
  if (estimate.level > band.high) return `, above its band (${shown(input.analyte, band.high, input.units)})`;
  if (estimate.level < band.low) return `, below its band (${shown(input.analyte, band.low, input.units)})`;
  if (Math.abs(off) < 0.1 * (band.high - band.low)) return ', near the middle of its band';
  return `, ${withUnit(input.analyte, Math.abs(off), input.units)} ${off < 0 ? 'below' : 'above'} the middle of its band`;
}

function tooHigh({ input, estimate, planned, planPerDay }: Worked): string {
  if (adviceFacts[input.analyte].comesWithFood === true)
    return 'Less food, more export or a water change brings it down, slowly; nothing is dosed against it.';
  const isSlow =
    Math.max(0, estimate.demandPerDay - planned.risePerDay) * daysAhead < estimate.level - input.system.band.high;
  const slow = isSlow ? ' The corals use little, so a water change with lower water is quicker.' : '';
  const how =
    planPerDay > 0 && planned.plan.length > 0
      ? 'Let the corals bring it down.'
      : 'Wait and let the corals bring it down; nothing is added to take it out.';
  return how + slow;
}

function planSentences({ input, estimate, planned, planPerDay, stocks }: Worked): string[] {
  const { analyte } = input;
  const say = (value: number): string => withUnit(analyte, value, input.units);
  if (planned.plan.length === 0) return [];
  // What food brings rises by itself, and less than nothing is used up.
  const isFed = estimate.demandPerDay < 0 && adviceFacts[analyte].comesWithFood === true;
  const use = isFed
    ? `Food brings ${say(-estimate.demandPerDay)} a day more than is used, and the plan gives ${say(planPerDay)}.`
    : `The ${adviceFacts[analyte].comesWithFood === true ? 'tank uses' : 'corals use'} ${say(Math.max(0, estimate.demandPerDay))} a day${doubtOf(estimate, say)} and the plan gives ${say(planPerDay)}.`;
  const changed = planned.plan.map((change) => changeClause(change, input)).join(' and ');
  const others = stocks.filter(
    ({ stock, risePerDay }) => risePerDay > 0 && !planned.plan.some(({ product }) => product?.id === stock.product.id),
  );
  const names = others.map(({ stock, risePerDay }) => `${stock.product.name} (${say(risePerDay)})`).join(' and ');
  const sum = names === '' ? '' : ` Leave ${names} as it is: ${say(planned.risePerDay)} a day in all.`;
  return [`${use} ${changed}.${sum}`];
}

/** A use of which all may be doubt is not said as a fact. */
function doubtOf({ demandPerDay, demandSd }: Worked['estimate'], say: (value: number) => string): string {
  const within = sdsFor95Percent * demandSd;
  return within < demandPerDay ? '' : ` (known only within ± ${say(within)})`;
}

function changeClause(
  { product, risePerDay, amountPerDay, unit, before }: PlanChange,
  { analyte, units }: AdviceInput,
): string {
  const rise = (value: number): string => withUnit(analyte, value, units);
  if (product === undefined) return `From now on dose ${rise(risePerDay)} a day instead of ${rise(before.risePerDay)}`;
  if (amountPerDay === 0) return `Stop ${product.name} (${before.amountPerDay} ${unit} a day)`;
  const was = before.amountPerDay === 0 ? '' : ` instead of ${Number(before.amountPerDay?.toFixed(2))}`;
  return `From now on give ${amountPerDay} ${unit} of ${product.name} a day${was} (${rise(risePerDay)})`;
}

function todaySentence(today: readonly TodayDose[], { analyte, units }: AdviceInput): string {
  const doses = today.map(({ product, amountPerDay, unit, risePerDay }) => {
    const rise = withUnit(analyte, risePerDay, units);
    return product === undefined ? rise : `${amountPerDay} ${unit} of ${product.name} (${rise})`;
  });
  return `Today give ${doses.join(' and ')} on top of the daily dosing.`;
}

function resumeSentence(worked: Worked): string | undefined {
  const again = resumption(worked);
  if (again === undefined) return undefined;
  const { nowMs, analyte, units } = worked.input;
  const rise = withUnit(analyte, again.risePerDay, units);
  const amount = again.product === undefined ? rise : `${again.amountPerDay} ${again.unit} of ${again.product.name}`;
  const begin = worked.planPerDay > 0 ? 'Start again' : 'Start';
  return `${begin} with ${amount} a day (${rise}) when ${inSentence(analyte)} is back at the middle of its band, ${inDays(nowMs, again.atMs)} if the use stays; a test decides.`;
}

/** How sure the advice is, in a word and with the intervals. */
export function surenessOf({ input, estimate, holdBacks }: Worked): Advice['sure'] {
  const { band } = input.system;
  const levelWithin = sdsFor95Percent * estimate.levelSd;
  const demandWithin = sdsFor95Percent * estimate.demandSd;
  const within = { levelWithin, demandWithin };
  if (holdBacks.length > 0) return { word: 'barely', text: 'Not enough data for a dose.', ...within };
  const levelDoubt = levelWithin / ((band.high - band.low) / 2);
  const demandDoubt = demandWithin / Math.max(estimate.demandPerDay, 1e-9);
  const text =
    `Level within ± ${shown(input.analyte, levelWithin, input.units)}, demand within ± ` +
    `${shown(input.analyte, demandWithin, input.units)} a day, from ${estimate.testsUsed} tests.`;
  if (levelDoubt < 0.35 && demandDoubt < 0.25 && estimate.testsUsed >= 5) return { word: 'well', text, ...within };
  if (levelDoubt < 0.7 && demandDoubt < 0.8) return { word: 'fairly', text, ...within };
  return { word: 'barely', text: `Only just certain. ${text}`, ...within };
}
