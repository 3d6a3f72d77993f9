import { defined } from '../plain-data/defined.ts';
import { adviceFacts, withUnit } from './advice-facts.ts';
import type { DailyLimit } from './advice-limits.ts';
import { measurable, measurableStep } from './advice-product.ts';
import type { AdviceInput, DailyDose, HoldBack, PlanChange, TodayDose } from './advice-types.ts';
import type { DoseWater } from './advice-water.ts';
import type { Choice } from './control.ts';
import { inSingleDoses, mostDosesOf, risesAlone } from './single-doses.ts';
import { lowPhText, type StockInUse } from './stocks-in-use.ts';

/** A choice as amounts of the keeper's stocks, and what stood against it. */
export type PlannedDoses = {
  plan: PlanChange[];
  today: TodayDose[];
  /** What all sources give a day with this, and what goes in today on top, unit. */
  risePerDay: number;
  todayRise: number;
  /** What cut it short, if anything did. */
  cutBy?: DailyLimit;
  /** Why nothing more can be given at all. */
  refusal?: HoldBack;
};

type Given = {
  mostPerDay: number;
  planPerDay: number;
  /** What the water takes a day without its pH rising: what runs now, or what is surely used. */
  sustainedPerDay: number;
  water: DoseWater;
  /** It is lowered because the pH is too high. */
  isForPh: boolean;
};

/**
 * The chosen plan and single dose in millilitres or grams: one stock changes where one can carry the change, rounded to what can be
 * measured out, within the limits of a day, in single doses small enough for the band and the pH. Without a stock the plan
 * stays a rise a day.
 */
export function plannedDoses(
  input: AdviceInput,
  choice: Choice,
  stocks: readonly StockInUse[],
  given: Given,
): PlannedDoses {
  if (input.stocks.length === 0) return plannedRises(input, choice, given);
  const change = choice.planPerDay - given.planPerDay;
  const changed =
    change < 0
      ? lowered(-change, given.isForPh ? strongestFirst(stocks) : stocks, given)
      : raised(input, change, stocks, given);
  const planned = afterSingle(input, choice.single, changed, stocks, given);
  // A change that the measure cannot show is none.
  const plan = planned.plan.filter(({ amountPerDay, before }) => amountPerDay !== before.amountPerDay);
  return { ...planned, plan };
}

function raised(input: AdviceInput, rise: number, stocks: readonly StockInUse[], given: Given): PlannedDoses {
  const none: PlannedDoses = { plan: [], today: [], risePerDay: given.planPerDay, todayRise: 0 };
  if (rise <= 1e-9) return none;
  let refusal: HoldBack | undefined;
  for (const one of stocks) {
    const { strength, amountPerDay, limit, doses } = one;
    if (one.refusal !== undefined) {
      refusal ??= one.refusal;
      continue;
    }
    const room = Math.max(0, limit.most - amountPerDay);
    const wanted = rise / strength.risePerUnit;
    // Use takes up what lifts the pH; carbon dioxide it does not take up.
    const takenUp = strength.carbon_mol_eq === undefined ? given.sustainedPerDay - given.planPerDay : 0;
    const byPh = doses.largestExtraOfDay + takenUp;
    const allowed = Math.min(wanted, room, byPh / strength.risePerUnit);
    const isCut = room < wanted - 1e-9;
    const amount = roundedPlan(
      amountPerDay + allowed,
      strength.risePerUnit,
      given.mostPerDay,
      isCut || allowed < wanted,
    );
    if (amount <= amountPerDay) {
      if (isCut) none.cutBy ??= limit;
      else if (allowed < wanted / 2) refusal ??= phRefusal(one, given.water);
      continue;
    }
    const dose = inSingleDoses(strength, amount, doses.largestRise, strength.product.timesPerDay ?? 1);
    if (dose === undefined) {
      refusal ??= tooManyDoses(input, one, given.water);
      continue;
    }
    const risePerDay = given.planPerDay + (amount - amountPerDay) * strength.risePerUnit;
    return {
      plan: [changeOf(one, dose)],
      today: [],
      risePerDay,
      todayRise: 0,
      ...defined({ cutBy: cutShort(one, { allowed, wanted, room }, given) }),
    };
  }
  return refusal === undefined ? none : { ...none, refusal };
}

/** What stands against more of a stock. */
function cutShort(
  { strength, limit, stock }: StockInUse,
  { allowed, wanted, room }: { allowed: number; wanted: number; room: number },
  { water }: Given,
): DailyLimit | undefined {
  if (strength.carbon_mol_eq !== undefined && allowed < Math.min(wanted, room) - 1e-9)
    return { most: allowed, setBy: 'low_ph', text: lowPhText(water, stock.product.name) };
  return room < wanted - 1e-9 ? limit : undefined;
}

/** By what lifts the pH the most for the same alkalinity: a hydroxide brings no carbon, a bicarbonate a whole one. */
function strongestFirst(stocks: readonly StockInUse[]): StockInUse[] {
  const order = ['hydroxide', 'unknown', 'carbonate', 'bicarbonate', 'none'];
  return [...stocks].sort((a, b) => order.indexOf(a.strength.addition) - order.indexOf(b.strength.addition));
}

/** From one stock where one can carry it, else from as many as it takes, the first of the order first. */
function lowered(fall: number, stocks: readonly StockInUse[], given: Given): PlannedDoses {
  const plan: PlanChange[] = [];
  let left = fall;
  const running = stocks.filter(({ risePerDay }) => risePerDay > 0);
  // One stock that can carry it alone is better than two that change.
  const order = running.filter(({ risePerDay }) => risePerDay >= fall - 1e-9).concat(running);
  for (const one of order) {
    if (left <= 1e-9 || plan.some(({ product }) => product?.id === one.stock.product.id)) continue;
    const { strength, amountPerDay } = one;
    const wanted = Math.max(0, amountPerDay - left / strength.risePerUnit);
    const amount = Math.min(amountPerDay, roundedPlan(wanted, strength.risePerUnit, given.mostPerDay, false));
    left -= (amountPerDay - amount) * strength.risePerUnit;
    const { product } = strength;
    // What is already given in doses of this size is not given in larger ones.
    const dose = inSingleDoses(strength, amount, Number.POSITIVE_INFINITY, product.timesPerDay ?? 1);
    if (dose !== undefined) plan.push(changeOf(one, dose));
  }
  const fallen = plan.reduce((sum, { risePerDay, before }) => sum + before.risePerDay - risePerDay, 0);
  return { plan, today: [], risePerDay: given.planPerDay - fallen, todayRise: 0 };
}

function afterSingle(
  input: AdviceInput,
  single: number,
  planned: PlannedDoses,
  stocks: readonly StockInUse[],
  given: Given,
): PlannedDoses {
  if (single <= 1e-9) return planned;
  let refusal: HoldBack | undefined;
  for (const one of stocks) {
    const { strength, limit, doses } = one;
    // A reactor drips as it is set, and gives nothing on top for a day.
    if (strength.carbon_mol_eq !== undefined) continue;
    if (one.refusal !== undefined) {
      refusal ??= one.refusal;
      continue;
    }
    const amountNow =
      planned.plan.find(({ product }) => product?.id === one.stock.product.id)?.amountPerDay ?? one.amountPerDay;
    const ofPlan = Math.max(0, planned.risePerDay - given.sustainedPerDay);
    const room = Math.max(0, limit.most - amountNow);
    const wanted = single / strength.risePerUnit;
    const byPh = Math.max(0, doses.largestExtraOfDay - ofPlan) / strength.risePerUnit;
    const amount = measurable(Math.min(wanted, room, byPh), 'down');
    if (amount <= 0) {
      if (room < wanted) planned.cutBy ??= limit;
      else refusal ??= phRefusal(one, given.water);
      continue;
    }
    const dose = inSingleDoses(strength, amount, doses.largestRise, 1);
    if (dose === undefined) {
      refusal ??= tooManyDoses(input, one, given.water);
      continue;
    }
    const today = [{ ...dose, product: { id: one.stock.product.id, name: one.stock.product.name } }];
    const cutBy = room < wanted - 1e-9 ? limit : planned.cutBy;
    return { ...planned, today, todayRise: dose.risePerDay, ...defined({ cutBy }) };
  }
  const why = planned.refusal ?? refusal;
  return why === undefined ? planned : { ...planned, refusal: why };
}

/** A day's amount as it can be measured out. */
function roundedPlan(amount: number, risePerUnit: number, mostPerDay: number, isAtLimit: boolean): number {
  const isCoarse = measurableStep(amount) * risePerUnit > mostPerDay / 10;
  return measurable(amount, isAtLimit || isCoarse ? 'down' : 'nearest');
}

function changeOf({ stock, amountPerDay, risePerDay }: StockInUse, dose: DailyDose): PlanChange {
  const { id, name } = stock.product;
  return { ...dose, product: { id, name }, before: { risePerDay, amountPerDay } };
}

function phRefusal({ stock, doses }: Pick<StockInUse, 'stock' | 'doses'>, water: DoseWater): HoldBack {
  if (doses.setBy === 'low_ph') return { rule: 'low_ph_limit', text: lowPhText(water, stock.product.name) };
  const text = `More ${stock.product.name} in a day would lift the pH, or the carbonate, past its limit. Use bicarbonate, or wait for a lower pH.`;
  return { rule: doses.setBy === 'saturation' ? 'saturation_limit' : 'ph_limit', text };
}

function tooManyDoses({ analyte, units }: AdviceInput, { stock, doses }: StockInUse, water: DoseWater): HoldBack {
  const { label } = adviceFacts[analyte];
  if (doses.setBy !== 'nothing') return phRefusal({ stock, doses }, water);
  const text =
    `One dose may raise ${label.toLowerCase()} by ${withUnit(analyte, doses.largestRise, units)} at most (its band), so a day would take ` +
    `more than ${mostDosesOf(stock.product)} doses. Let a pump give more and state how many, or allow more in an hour.`;
  return { rule: 'too_many_doses', text };
}

function plannedRises(input: AdviceInput, choice: Choice, given: Given): PlannedDoses {
  const most = Math.min(given.mostPerDay, input.system.band.mostPerHour ?? Number.POSITIVE_INFINITY);
  const before = { risePerDay: given.planPerDay };
  const plan = choice.isPlanChange ? [{ ...risesAlone(choice.planPerDay, most), before }] : [];
  const today = choice.single > 1e-9 ? [risesAlone(choice.single, most)] : [];
  return { plan, today, risePerDay: choice.planPerDay, todayRise: choice.single };
}
