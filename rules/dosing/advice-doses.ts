import type { DemandEstimate } from '../trend/demand-filter.ts';
import { adviceFacts, shown } from './advice-facts.ts';
import { type DailyLimit, dailyLimit } from './advice-limits.ts';
import { type DoseWater, largestRiseWithinPh } from './advice-ph.ts';
import type { WantedPlan } from './advice-plan.ts';
import { measurable, measurableStep, type Strength } from './advice-product.ts';
import type { AdviceInput, AdviceProduct, Correction, DailyDose, HoldBack } from './advice-types.ts';

/** More single doses in a day than this are not suggested: then the product is the wrong one. */
const mostDosesPerDay = 24;

export type PlannedDoses = {
  maintenance?: DailyDose;
  correction?: Correction;
  /** Standing rise a day that the product as measured out gives. */
  risePerDay: number;
  /** What cut the plan short, if anything did. */
  cutBy?: DailyLimit;
  /** No dose is small enough: for the pH limit, or for what the band allows at once when split into all that can be given. */
  stoppedBy?: HoldBack;
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
  const mostRise = mostRiseAtOnce(input, wanted);
  const largestRise = largestRiseWithinPh(water, strength, input.system.highestPhAfterDose, mostRise);
  const daily = (amount: number): DailyDose | undefined => inSingleDoses(strength, amount, largestRise);

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
  const isStopped = (wanted.isChange && maintenance === undefined) || (mostOnTop > 0 && largestDay === undefined);
  return {
    risePerDay,
    ...(isStopped ? { stoppedBy: stopOf(input, strength, water, largestRise, mostRise) } : {}),
    ...(isCut ? { cutBy: limit } : {}),
    ...(wanted.isChange && maintenance !== undefined ? { maintenance } : {}),
    ...(largestDay === undefined ? {} : { correction: correctionOf(amounts, risePerUnit, largestDay) }),
  };
}

/** Why no dose is small enough, by which of the two limits is the lower one. */
function stopOf(
  { analyte, system }: AdviceInput,
  { product }: Strength,
  water: DoseWater,
  largestRise: number,
  mostRise: number,
): HoldBack {
  if (largestRise < mostRise * (1 - 1e-9)) {
    const other = analyte === 'alkalinity' ? 'bicarbonate' : 'a product that leaves the pH alone';
    const text =
      `pH is ${water.phTotal.toFixed(2)} and ${product.name} would lift it past ${system.highestPhAfterDose.toFixed(2)} ` +
      `however it is split. Use ${other}, or wait for a lower pH.`;
    return { rule: 'ph_limit', text };
  }
  const { label, unit } = adviceFacts[analyte];
  const text =
    `One dose may raise ${label.toLowerCase()} by ${shown(analyte, mostRise)} ${unit} at most (its band), so a day would take ` +
    `more than ${mostDosesOf(product)} doses. Let a pump give more and state how many, or allow more in an hour.`;
  return { rule: 'too_many_doses', text };
}

/** Most that the band lets a single dose lift the level by. */
function mostRiseAtOnce(input: AdviceInput, wanted: WantedPlan): number {
  return Math.min(wanted.mostPerDay, input.system.band.mostPerHour ?? Number.POSITIVE_INFINITY);
}

function noDose(strength: Strength): DailyDose {
  const nothing = { risePerDay: 0, amountPerDay: 0, dosesPerDay: 0, largestDose: 0, largestRise: 0 };
  return { ...nothing, unit: strength.unit, hoursApart: 24 };
}

/** An amount a day in single doses; undefined when more would be needed than can be given. */
function inSingleDoses(strength: Strength, amountPerDay: number, largestRise: number): DailyDose | undefined {
  const timesPerDay = strength.product.timesPerDay ?? 1;
  const risePerDay = amountPerDay * strength.risePerUnit;
  // Endless where the pH allows none at all.
  const needed = Math.ceil(risePerDay / largestRise - 1e-9);
  if (needed > mostDosesOf(strength.product)) return undefined;
  const dosesPerDay = Math.max(needed, timesPerDay);
  const each = amountPerDay / dosesPerDay;
  const step = Math.min(measurableStep(each), 0.1);
  const roundedUp = Number((Math.ceil(each / step - 1e-9) * step).toFixed(2));
  // Rounding a single dose up is fine while it stays within the limit and the last dose of the day is only the smaller one: a pump that
  // gives many doses, each rounded up, would give much more than the day's amount.
  const isWithinLimit = roundedUp * strength.risePerUnit <= largestRise;
  const largestDose = isWithinLimit && roundedUp * (dosesPerDay - 1) < amountPerDay ? roundedUp : each;
  return {
    ...{ risePerDay, amountPerDay, unit: strength.unit, dosesPerDay, largestDose },
    ...{ largestRise: largestDose * strength.risePerUnit, hoursApart: hoursApart(dosesPerDay) },
  };
}

/** As many as a hand or the keeper's own pump gives in a day. */
function mostDosesOf({ timesPerDay }: AdviceProduct): number {
  return Math.max(mostDosesPerDay, timesPerDay ?? 1);
}

/** Equal pauses over the day, on the half hour below, or on the minute where that is less, so that all of them fit into it. */
function hoursApart(dosesPerDay: number): number {
  return dosesPerDay <= 48 ? Math.floor(48 / dosesPerDay) / 2 : Math.floor(1440 / dosesPerDay) / 60;
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
  const mostRise = mostRiseAtOnce(input, wanted);
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
    risePerDay: wanted.risePerDay,
    ...(wanted.isChange ? { maintenance: daily(wanted.risePerDay) } : {}),
    ...(riseOnDay.length > 0 ? { correction } : {}),
  };
}

function sum(numbers: readonly number[]): number {
  return numbers.reduce((total, number) => total + number, 0);
}
