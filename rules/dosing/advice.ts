import { defined } from '../plain-data/defined.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { forecastLevel } from '../trend/forecast.ts';
import { sdsFor95Percent } from '../trend/normal-distribution.ts';
import { cautionsFor } from './advice-cautions.ts';
import { adviceFacts, daysAhead } from './advice-facts.ts';
import { nightPhWith } from './advice-flow.ts';
import { dataHoldBacks } from './advice-hold-backs.ts';
import { pathOf } from './advice-path.ts';
import { phAfterDose, phForecast } from './advice-ph.ts';
import { plannedDoses } from './advice-plan.ts';
import { sideEffects } from './advice-side-effects.ts';
import type { Advice, AdviceInput, Predicted } from './advice-types.ts';
import { doseWater } from './advice-water.ts';
import { heldBackReason, reasonOf, surenessOf } from './advice-words.ts';
import type { Worked } from './advice-worked.ts';
import { workingLines } from './advice-working.ts';
import { type Choice, chooseDosing } from './control.ts';
import { dayLedger } from './day-ledger.ts';
import { highSide } from './high-side.ts';
import { increaseHoldBacks } from './increase-hold-backs.ts';
import { highestHeld, lowestPlan } from './low-side.ts';
import { nextTest, testRhythmDays } from './next-test.ts';
import { resumption } from './resumption.ts';
import { stocksInUse } from './stocks-in-use.ts';

/**
 * What to dose of one analyte, how much and why: a suggestion to a person, never a command to a pump.
 *
 * It takes the plan and today's dose with the least expected loss (`control.ts`) within bounds that hold over any day, however often
 * it is asked (`day-ledger.ts`): the band's most a day on top of the use, pH and saturation after the doses, solubility and the
 * day's limit of each stock. It never lifts a level that was tested above its band, never takes anything out by chemicals, and gives
 * no more where the data do not carry it or the plan may not arrive. Plain data, JSON in and out.
 *
 * @throws OutOfRange  for a volume, strength or amount that is not a positive finite number
 */
export function adviseDose(input: AdviceInput): Advice {
  const { estimate } = input;
  const last = input.lastTests.at(-1);
  if (estimate === undefined || last === undefined) return untested(input);
  const worked = work(input, estimate);
  const { planned, holdBacks, choice, side, isAboveBand } = worked;
  const isActing = planned.plan.length > 0 || planned.today.length > 0;
  const predicted = predictedBy(worked);
  const fallen = planned.risePerDay < worked.planPerDay - 1e-9;
  const resume = resumption(worked);
  return {
    kind: holdBacks.length > 0 ? 'hold_back' : isAboveBand ? 'wait' : isActing ? 'dose' : 'nothing',
    analyte: input.analyte,
    reason: holdBacks.length > 0 ? heldBackReason(worked) : reasonOf(worked),
    plan: planned.plan,
    today: planned.today,
    dosingNow: !fallen ? 'leave' : planned.risePerDay <= 1e-9 ? 'stop' : 'lower',
    ...defined({ resume }),
    predicted,
    cautions: cautionsFor(worked, predicted.sideEffects),
    sure: surenessOf(worked),
    retestAtMs: nextTest(worked, predicted, choice, side),
    holdBacks,
    working: workingLines(worked, predicted),
  };
}

function untested(input: AdviceInput): Advice {
  const holdBacks = dataHoldBacks(input, undefined);
  const isRunning = input.stocks.some(({ planPerDay, byHandPerDay }) => planPerDay + byHandPerDay > 0);
  return {
    kind: 'hold_back',
    analyte: input.analyte,
    plan: [],
    today: [],
    dosingNow: 'leave',
    cautions: [],
    holdBacks,
    reason: `${holdBacks[0]!.text} ${isRunning ? 'Until then leave the daily dosing as it is; no extra dose.' : 'Until then no dose.'}`,
    sure: { word: 'barely', text: 'Not enough data for a dose.' },
    retestAtMs: input.nowMs,
    working: holdBacks.map(({ text }) => text),
  };
}

function work(input: AdviceInput, estimate: DemandEstimate): Worked {
  const { band } = input.system;
  const mostPerDay = band.mostPerDay ?? adviceFacts[input.analyte].mostPerDay;
  const alkalinity = input.analyte === 'alkalinity' ? estimate.level : (input.water.alkalinity_dKH?.value ?? 8);
  const water = doseWater(input, alkalinity);
  const stocks = stocksInUse(input, estimate, water);
  const otherPerDay = input.otherRisePerDay ?? 0;
  const planPerDay = otherPerDay + stocks.reduce((sum, { risePerDay }) => sum + risePerDay, 0);
  const surelyUsed = Math.max(0, estimate.demandPerDay - sdsFor95Percent * estimate.demandSd);
  const ledger = dayLedger(input, mostPerDay, usedInLedger(input, estimate));
  const side = highSide(input, planPerDay, mostPerDay, stocks, water);
  const isAboveBand = estimate.level > band.high;
  const sustainedPerDay = Math.max(planPerDay, surelyUsed);
  const given = { water, mostPerDay, planPerDay, sustainedPerDay, isForPh: side.why === 'ph' };
  const lowest = Math.max(otherPerDay, lowestPlan(estimate, planPerDay, mostPerDay, side));
  /** @param heldAt  most that may be planned while something holds an increase back */
  const choose = (heldAt?: number): Choice =>
    chooseDosing(input, estimate, planPerDay, testRhythmDays(input), {
      lowest: heldAt !== undefined && side.why === undefined ? planPerDay : lowest,
      highest: Math.min(heldAt ?? Number.POSITIVE_INFINITY, Math.max(planPerDay, ledger.highestPlan), side.highestPlan),
      mostSingle: (plan) => (heldAt !== undefined || side.why !== undefined ? 0 : ledger.mostSingle(plan)),
    });
  const holdBacks = dataHoldBacks(input, estimate);
  const held = (): number => highestHeld(input, holdBacks, estimate, planPerDay, surelyUsed);
  let choice = choose(holdBacks.length > 0 ? held() : undefined);
  // One test tells a level and no use: what is not too high stays as it is.
  if (estimate.testsUsed < 2 && choice.planPerDay < planPerDay) choice = choose(planPerDay);
  if (choice.single > 0 || choice.planPerDay > planPerDay + 1e-9) {
    const plannedRise = stocks.reduce(
      (sum, { stock, strength }) => sum + stock.planPerDay * Math.max(0, strength.risePerUnit),
      0,
    );
    const more = increaseHoldBacks(input, estimate, stocks, plannedRise);
    holdBacks.push(...more);
    if (more.length > 0) choice = choose(held());
  }
  const planned = plannedDoses(input, choice, stocks, given);
  if (planned.refusal !== undefined && planned.plan.length + planned.today.length === 0)
    holdBacks.push(planned.refusal);
  return {
    input,
    estimate,
    planPerDay,
    mostPerDay,
    water,
    stocks,
    ledger,
    side,
    choice,
    planned,
    holdBacks,
    isAboveBand,
  };
}

/**
 * The use that a day's dosing is held against, at the low end of its interval. In water that is below its band at one sd too, one sd
 * of the use is doubt enough: with the whole interval a tank that uses 5 dKH a day, known to a twentieth, stays low for as long
 * as nobody knows its use any better, which does more harm than a day that moves by more than was meant.
 *
 * @returns unit a day, 0 or more
 */
function usedInLedger({ system: { band } }: AdviceInput, estimate: DemandEstimate): number {
  const isSurelyBelow = estimate.level + estimate.levelSd < band.low;
  return Math.max(0, estimate.demandPerDay - (isSurelyBelow ? 1 : sdsFor95Percent) * estimate.demandSd);
}

/** Hours after a dose for which pH is forecast. Chosen here: while somebody watches, and half a day later. */
const forecastHours = [3, 12];

function predictedBy({ input, estimate, planPerDay, planned, stocks, water }: Worked): Predicted {
  const start = { ...estimate, timeMs: input.nowMs };
  const { band } = input.system;
  const without = forecastLevel(start, { risePerDay: planPerDay }, band, daysAhead);
  const doses = planned.todayRise > 0 ? [{ timeMs: input.nowMs + 1, rise: planned.todayRise }] : [];
  const following = forecastLevel(start, { risePerDay: planned.risePerDay, doses }, band, daysAhead);
  const changed = [...planned.plan, ...planned.today].flatMap((dose) => {
    const one = stocks.find(({ stock }) => stock.product.id === dose.product?.id);
    // What drips all day has no single dose: `nightPh` tells of it.
    const isDose = one !== undefined && one.strength.addition !== 'none' && one.strength.carbon_mol_eq === undefined;
    return isDose && dose.largestRise > 0 ? [{ dose, one }] : [];
  });
  const strongest = changed
    .map(({ dose, one }) => {
      const rise = Math.min(dose.largestRise, one.doses.largestRise);
      return { rise, one, ph: phAfterDose(water, one.strength, rise) };
    })
    .sort((a, b) => b.ph - a.ph)[0];
  const forecast =
    strongest === undefined
      ? []
      : forecastHours.flatMap((hours) => phForecast(water, strongest.one.strength, strongest.rise, hours) ?? []);
  return {
    withAdvice: pathOf(following),
    withoutAdvice: pathOf(without),
    chanceToLeaveWith: following.chanceToLeave,
    chanceToLeaveWithout: without.chanceToLeave,
    ...defined({ leavesWithoutAdviceAtMs: without.leavesAtMs, leavesWithAdviceAtMs: following.leavesAtMs }),
    ...defined({ nightPh: nightPhOf(planned, stocks, water) }),
    ...(strongest === undefined ? {} : { phBefore: water.phTotal, phAfterLargestDose: strongest.ph }),
    ...(forecast.length === 0 ? {} : { phForecast: forecast }),
    sideEffects: stocks.flatMap(({ strength, amountPerDay, stock }) => {
      const plan = planned.plan.find(({ product }) => product?.id === stock.product.id);
      const today = planned.today.find(({ product }) => product?.id === stock.product.id);
      if (plan === undefined && today === undefined) return [];
      return sideEffects(input, strength, (plan?.amountPerDay ?? amountPerDay) + (today?.amountPerDay ?? 0));
    }),
  };
}

/** Of the reactor whose flow goes up; undefined where none does. */
function nightPhOf(planned: Worked['planned'], stocks: Worked['stocks'], water: Worked['water']): Predicted['nightPh'] {
  for (const { product, risePerDay, before } of planned.plan) {
    const one = stocks.find(({ stock }) => stock.product.id === product?.id);
    if (one !== undefined && risePerDay > before.risePerDay)
      return nightPhWith(water, one.strength, risePerDay - before.risePerDay);
  }
  return undefined;
}
