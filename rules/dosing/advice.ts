import type { DemandEstimate } from '../trend/demand-filter.ts';
import { forecastLevel } from '../trend/forecast.ts';
import { cautionsFor } from './advice-cautions.ts';
import { type PlannedDoses, plannedDoses } from './advice-doses.ts';
import { adviceFacts, dayMs, daysAhead, shown } from './advice-facts.ts';
import { dataHoldBacks } from './advice-hold-backs.ts';
import { pathOf } from './advice-path.ts';
import { type DoseWater, doseWater, phAfterDose } from './advice-ph.ts';
import { type WantedPlan, wantedPlan } from './advice-plan.ts';
import { beyondSolubility, type Strength, strengthOf } from './advice-product.ts';
import { sideEffects } from './advice-side-effects.ts';
import type { Advice, AdviceInput, HoldBack, Predicted } from './advice-types.ts';
import { testLines, workingLines } from './advice-working.ts';

/**
 * What to dose of one analyte, how much and why: a suggestion to a person, never a command to a pump.
 *
 * It never lifts the level by more than the band's most a day on top of the demand, never lifts pH past the limit by a single
 * dose, never goes past the solubility or the day's limit of the product, never takes anything out by chemicals, and holds
 * back with its reasons when the data do not carry a dose. Plain data, JSON in and out.
 *
 * @throws OutOfRange  for a volume, strength or amount that is not a positive finite number
 */
export function adviseDose(input: AdviceInput): Advice {
  const { estimate } = input;
  const holdBacks = dataHoldBacks(input, estimate);
  if (estimate === undefined) return heldBack(input, holdBacks, undefined);
  const strength =
    input.product === undefined ? undefined : strengthOf(input.product, input.analyte, input.system.volumeL);
  const productHoldBacks = strength === undefined ? [] : holdBacksOfProduct(input, strength);
  if (holdBacks.length + productHoldBacks.length > 0)
    return heldBack(input, [...holdBacks, ...productHoldBacks], estimate);
  const wanted = wantedPlan(input, estimate);
  const alkalinity = input.analyte === 'alkalinity' ? estimate.level : (input.water.alkalinity_dKH?.value ?? 8);
  const water = doseWater(input, alkalinity);
  const planned = plannedDoses(input, estimate, wanted, strength, water);
  if (planned.stoppedBy !== undefined) return heldBack(input, [planned.stoppedBy], estimate);
  const predicted = predictedBy(input, estimate, planned, strength, water);
  const isActing = planned.maintenance !== undefined || planned.correction !== undefined;
  return {
    kind: wanted.isTooHigh ? 'wait' : isActing ? 'dose' : 'nothing',
    analyte: input.analyte,
    reason: reasonOf(input, estimate, wanted, planned),
    ...(input.product === undefined ? {} : { product: { id: input.product.id, name: input.product.name } }),
    ...(planned.maintenance === undefined ? {} : { maintenance: planned.maintenance }),
    ...(planned.correction === undefined ? {} : { correction: planned.correction }),
    predicted,
    cautions: cautionsFor(input, planned, strength, water, predicted.sideEffects),
    sure: sureness(input, estimate),
    retestAtMs: retestTime(input, planned, predicted, wanted),
    holdBacks: [],
    working: workingLines(input, estimate, wanted, planned, strength, predicted),
  };
}

function holdBacksOfProduct(input: AdviceInput, { product, risePerUnit }: Strength): HoldBack[] {
  const { label } = adviceFacts[input.analyte];
  if (!(risePerUnit > 0)) {
    const text = `${product.name} does not raise ${label.toLowerCase()}: name the product that does.`;
    return [{ rule: 'product_does_not_raise', text }];
  }
  const tooStrong = beyondSolubility(product);
  if (tooStrong === undefined) return [];
  const text = `${tooStrong}: what is on the bottom is not in the dose. Dilute it, state the true strength, then ask again.`;
  return [{ rule: 'past_solubility', text }];
}

function heldBack(input: AdviceInput, holdBacks: HoldBack[], estimate: DemandEstimate | undefined): Advice {
  const keep =
    input.currentPlanPerDay > 0
      ? ' Until then leave the daily dosing as it is; no extra dose.'
      : ' Until then no dose.';
  const predicted = estimate === undefined ? undefined : predictedBy(input, estimate, undefined, undefined, undefined);
  return {
    kind: 'hold_back',
    analyte: input.analyte,
    reason: holdBacks[0]!.text + keep,
    ...(predicted === undefined ? {} : { predicted }),
    cautions: [],
    sure: { word: 'barely', text: 'The data do not carry a dose.' },
    retestAtMs: input.nowMs,
    holdBacks,
    working: [
      ...(estimate === undefined ? [] : testLines(input, estimate)),
      ...holdBacks.map((holdBack) => holdBack.text),
    ],
  };
}

function predictedBy(
  input: AdviceInput,
  estimate: DemandEstimate,
  planned: PlannedDoses | undefined,
  strength: Strength | undefined,
  water: DoseWater | undefined,
): Predicted {
  const start = { ...estimate, timeMs: input.nowMs };
  const { band } = input.system;
  const without = forecastLevel(start, { risePerDay: input.currentPlanPerDay }, band, daysAhead);
  const doses = (planned?.correction?.riseOnDay ?? []).map((rise, day) => ({
    timeMs: input.nowMs + day * dayMs + 1,
    rise,
  }));
  const risePerDay = planned?.risePerDay ?? input.currentPlanPerDay;
  const following = forecastLevel(start, { risePerDay, doses }, band, daysAhead);
  const amount =
    (planned?.correction?.amountOnDay?.[0] ?? 0) + (strength === undefined ? 0 : risePerDay / strength.risePerUnit);
  const largestRise = Math.max(planned?.maintenance?.largestRise ?? 0, planned?.correction?.largestRise ?? 0);
  const isPhTold = strength !== undefined && water !== undefined && strength.addition !== 'none' && largestRise > 0;
  return {
    withAdvice: pathOf(following),
    withoutAdvice: pathOf(without),
    chanceToLeaveWith: following.chanceToLeave,
    chanceToLeaveWithout: without.chanceToLeave,
    ...(without.leavesAtMs === undefined ? {} : { leavesWithoutAdviceAtMs: without.leavesAtMs }),
    ...(following.leavesAtMs === undefined ? {} : { leavesWithAdviceAtMs: following.leavesAtMs }),
    ...(isPhTold ? { phBefore: water.phTotal, phAfterLargestDose: phAfterDose(water, strength, largestRise) } : {}),
    sideEffects: strength === undefined ? [] : sideEffects(input, strength, amount),
  };
}

function reasonOf(input: AdviceInput, estimate: DemandEstimate, wanted: WantedPlan, planned: PlannedDoses): string {
  const { analyte, system } = input;
  const { label, unit } = adviceFacts[analyte];
  const say = (value: number): string => `${shown(analyte, value)} ${unit}`;
  const level = `${label} is ${say(estimate.level)}`;
  if (wanted.isTooHigh) {
    const slow = estimate.demandPerDay * daysAhead < estimate.level - system.band.high;
    const how = planned.maintenance
      ? `Dose ${planned.maintenance.risePerDay > 0 ? `only ${say(planned.maintenance.risePerDay)} a day` : 'nothing'} and let the corals bring it down`
      : 'Wait and let the corals bring it down';
    const change = slow ? '; the demand is small, so a water change with lower water is quicker' : '';
    return `${level}, above the band (${say(system.band.high)}). ${how}${change}. Nothing is added to take it out.`;
  }
  const parts: string[] = [];
  if (planned.maintenance) {
    const { amountPerDay, unit: measure } = planned.maintenance;
    const amount = amountPerDay === undefined ? '' : ` (${amountPerDay} ${measure})`;
    parts.push(
      `The corals use ${say(estimate.demandPerDay)} a day and the plan gives ${say(input.currentPlanPerDay)}: dose ${say(planned.maintenance.risePerDay)}${amount} a day.`,
    );
  }
  if (planned.correction) {
    const { totalRise, days, amountOnDay, unit: measure } = planned.correction;
    const today = amountOnDay === undefined ? '' : `, today ${amountOnDay[0]} ${measure}`;
    parts.push(
      `${level}, ${say(wanted.middle - estimate.level)} below the middle of the band: raise it by ${say(totalRise)} over ${days} ${days === 1 ? 'day' : 'days'}${today}.`,
    );
  }
  if (parts.length > 0) return parts.join(' ');
  if (planned.cutBy !== undefined)
    return `${level}, ${say(wanted.middle - estimate.level)} below the middle of the band, and stays so. ${planned.cutBy.text}`;
  return `${level} and the plan meets the demand as far as the tests can tell. Change nothing.`;
}

function sureness(input: AdviceInput, estimate: DemandEstimate): Advice['sure'] {
  const { band } = input.system;
  const levelDoubt = (1.96 * estimate.levelSd) / ((band.high - band.low) / 2);
  const demandDoubt = (1.96 * estimate.demandSd) / Math.max(estimate.demandPerDay, 1e-9);
  const within = { levelWithin: 1.96 * estimate.levelSd, demandWithin: 1.96 * estimate.demandSd };
  const text =
    `Level within ± ${shown(input.analyte, 1.96 * estimate.levelSd)}, demand within ± ` +
    `${shown(input.analyte, 1.96 * estimate.demandSd)} a day, from ${estimate.testsUsed} tests.`;
  if (levelDoubt < 0.35 && demandDoubt < 0.25 && estimate.testsUsed >= 5) return { word: 'well', text, ...within };
  return { word: levelDoubt < 0.7 && demandDoubt < 0.8 ? 'fairly' : 'barely', text, ...within };
}

/** Days after a change of dosing at which a test shows whether it was right. @source common practice, no published source */
const retestAfterDays = { alkalinity: 2, calcium: 4, magnesium: 7 } as const;

function retestTime(input: AdviceInput, planned: PlannedDoses, predicted: Predicted, wanted: WantedPlan): number {
  const afterChange = retestAfterDays[input.analyte] * dayMs;
  const isActing = planned.maintenance !== undefined || planned.correction !== undefined || wanted.isTooHigh;
  if (isActing) return input.nowMs + afterChange;
  // Without a test nothing is advised at all.
  const last = input.lastTests.at(-1)!.timeMs;
  const usual = last + (input.testEveryDays ?? 2 * retestAfterDays[input.analyte]) * dayMs;
  const mayLeave = predicted.withAdvice.find(
    (point) => point.low95 < input.system.band.low || point.high95 > input.system.band.high,
  );
  return Math.max(input.nowMs, Math.min(usual, mayLeave?.timeMs ?? usual));
}
