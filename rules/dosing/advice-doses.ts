import type { DemandEstimate } from '../trend/demand-filter.ts';
import { type DailyLimit, dailyLimit } from './advice-limits.ts';
import { type DoseWater, largestRiseWithinPh } from './advice-ph.ts';
import type { WantedPlan } from './advice-plan.ts';
import { measurable, measurableStep, type Strength } from './advice-product.ts';
import type { AdviceInput, Correction, DailyDose } from './advice-types.ts';

/** More single doses in a day than this are not suggested: then the product is the wrong one. */
const mostDosesPerDay = 24;

export type PlannedDoses = {
  maintenance?: DailyDose;
  correction?: Correction;
  /** Standing rise a day that the product as measured out gives. */
  risePerDay: number;
  /** What cut the plan short, if anything did. */
  cutBy?: DailyLimit;
  /** The pH limit allows no dose, or only more doses than can be given. */
  isStoppedByPh: boolean;
};

/**
 * The wanted plan in millilitres or grams of the keeper's product: rounded to what can be measured out (a correction never
 * up), within the limits of a day, in single doses small enough for the band and the pH limit. Without a product the plan
 * stays a rise a day.
 */
export function plannedDoses(
  input: AdviceInput,
  estimate: DemandEstimate,
  wanted: WantedPlan,
  strength: Strength | undefined,
  water: DoseWater,
): PlannedDoses {
  if (strength === undefined) return plannedRises(input, wanted);
  const { risePerUnit } = strength;
  const limit = dailyLimit(input, estimate, strength);
  const mostRise = Math.min(wanted.mostPerDay, input.system.band.mostPerHour ?? Number.POSITIVE_INFINITY);
  const largestRise = largestRiseWithinPh(water, strength, input.system.highestPhAfterDose, mostRise);
  const daily = (amount: number): DailyDose | undefined => inSingleDoses(input, strength, amount, largestRise);

  const wantedAmount = wanted.risePerDay / risePerUnit;
  const isCoarse = measurableStep(wantedAmount) * risePerUnit > wanted.mostPerDay / 10;
  const rounded = measurable(wantedAmount, wanted.isTooHigh || isCoarse ? 'down' : 'nearest');
  const standing = rounded > limit.most ? measurable(limit.most, 'down') : rounded;
  const risePerDay = wanted.isChange ? standing * risePerUnit : wanted.risePerDay;
  const left = Math.max(0, limit.most - risePerDay / risePerUnit);
  // Maintenance rounded up must not push the net rise past the most a day.
  const roundedUp = Math.max(0, risePerDay - wanted.risePerDay);
  const amounts = wanted.correction.map((rise) =>
    measurable(Math.min(left, Math.max(0, rise - roundedUp) / risePerUnit), 'down'),
  );
  const mostOnTop = Math.max(0, ...amounts);
  const maintenance = standing > 0 ? daily(standing) : noDose(strength);
  const largestDay = mostOnTop > 0 ? daily(mostOnTop) : undefined;
  const isCut =
    (wanted.isChange && wantedAmount > limit.most) ||
    wanted.correction.some((rise) => rise / risePerUnit > left + 1e-9);
  const isStoppedByPh = (wanted.isChange && maintenance === undefined) || (mostOnTop > 0 && largestDay === undefined);
  return {
    risePerDay,
    isStoppedByPh,
    ...(isCut ? { cutBy: limit } : {}),
    ...(wanted.isChange && maintenance !== undefined ? { maintenance } : {}),
    ...(largestDay === undefined ? {} : { correction: correctionOf(amounts, risePerUnit, largestDay) }),
  };
}

function noDose(strength: Strength): DailyDose {
  const nothing = { risePerDay: 0, amountPerDay: 0, dosesPerDay: 0, largestDose: 0, largestRise: 0 };
  return { ...nothing, unit: strength.unit, hoursApart: 24 };
}

/** An amount a day in single doses; undefined when no dose is small enough for the pH limit. */
function inSingleDoses(
  input: AdviceInput,
  strength: Strength,
  amountPerDay: number,
  largestRise: number,
): DailyDose | undefined {
  const timesPerDay = input.product?.timesPerDay ?? 1;
  const risePerDay = amountPerDay * strength.risePerUnit;
  const needed = Math.ceil(risePerDay / largestRise - 1e-9);
  if (!(largestRise > 0) || needed > Math.max(mostDosesPerDay, timesPerDay)) return undefined;
  const dosesPerDay = Math.max(needed, timesPerDay);
  const each = amountPerDay / dosesPerDay;
  const step = Math.min(measurableStep(each), 0.1);
  const roundedUp = Number((Math.ceil(each / step - 1e-9) * step).toFixed(2));
  // Rounding a single dose up is fine while it stays within the limit; the last dose of the day is then the smaller one.
  const largestDose = roundedUp * strength.risePerUnit <= largestRise ? roundedUp : each;
  return {
    ...{ risePerDay, amountPerDay, unit: strength.unit, dosesPerDay, largestDose },
    ...{ largestRise: largestDose * strength.risePerUnit, hoursApart: hoursApart(dosesPerDay) },
  };
}

/** Equal pauses over the day, on whole or half hours below. */
function hoursApart(dosesPerDay: number): number {
  return Math.max(0.25, Math.floor((2 * 24) / dosesPerDay) / 2);
}

function correctionOf(amounts: readonly number[], risePerUnit: number, largestDay: DailyDose): Correction {
  const amountOnDay = amounts.filter((amount) => amount > 0);
  const total = Number(sum(amountOnDay).toFixed(2));
  return {
    ...largestDay,
    ...{ totalRise: total * risePerUnit, totalAmount: total, days: amountOnDay.length },
    ...{ riseOnDay: amountOnDay.map((amount) => amount * risePerUnit), amountOnDay },
  };
}

/** The plan as rises alone, when the keeper has named no product. */
function plannedRises(input: AdviceInput, wanted: WantedPlan): PlannedDoses {
  const mostRise = Math.min(wanted.mostPerDay, input.system.band.mostPerHour ?? Number.POSITIVE_INFINITY);
  const daily = (risePerDay: number): DailyDose => {
    const dosesPerDay = risePerDay > 0 ? Math.ceil(risePerDay / mostRise - 1e-9) : 0;
    const largestRise = dosesPerDay === 0 ? 0 : risePerDay / dosesPerDay;
    return { risePerDay, dosesPerDay, largestRise, hoursApart: dosesPerDay === 0 ? 24 : hoursApart(dosesPerDay) };
  };
  const riseOnDay = wanted.correction;
  const correction = {
    ...daily(Math.max(0, ...riseOnDay)),
    totalRise: sum(riseOnDay),
    days: riseOnDay.length,
    riseOnDay,
  };
  return {
    ...{ risePerDay: wanted.risePerDay, isStoppedByPh: false },
    ...(wanted.isChange ? { maintenance: daily(wanted.risePerDay) } : {}),
    ...(riseOnDay.length > 0 ? { correction } : {}),
  };
}

function sum(numbers: readonly number[]): number {
  return numbers.reduce((total, number) => total + number, 0);
}
