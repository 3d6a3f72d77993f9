import { measurableStep, type Strength } from './advice-product.ts';
import type { AdviceProduct, DailyDose } from './advice-types.ts';

/** More single doses in a day than this are not suggested: then the product is the wrong one. */
const mostDosesPerDay = 24;

/** As many as a hand or the keeper's own pump gives in a day. */
export function mostDosesOf({ timesPerDay }: AdviceProduct): number {
  return Math.max(mostDosesPerDay, timesPerDay ?? 1);
}

/**
 * An amount a day in single doses that each stay within a rise.
 *
 * @param amountPerDay  mL or g, 0 or more
 * @param largestRise   by one dose, unit; 0: none is allowed
 * @param fewest        doses a day that are given anyway
 * @returns undefined when more doses would be needed than can be given
 */
export function inSingleDoses(
  strength: Strength,
  amountPerDay: number,
  largestRise: number,
  fewest: number,
): DailyDose | undefined {
  const { unit } = strength;
  if (amountPerDay <= 0) {
    return { risePerDay: 0, amountPerDay: 0, unit, dosesPerDay: 0, largestDose: 0, largestRise: 0, hoursApart: 24 };
  }
  const risePerDay = amountPerDay * strength.risePerUnit;
  // Endless where no rise is allowed at all.
  const needed = Math.ceil(risePerDay / largestRise - 1e-9);
  if (needed > mostDosesOf(strength.product)) return undefined;
  const dosesPerDay = Math.max(needed, fewest);
  const each = amountPerDay / dosesPerDay;
  const step = Math.min(measurableStep(each), 0.1);
  const roundedUp = Number((Math.ceil(each / step - 1e-9) * step).toFixed(2));
  // Rounding a single dose up is fine while it stays within the limit and the last dose of the day is only the smaller one: a pump that
  // gives many doses, each rounded up, would give much more than the day's amount.
  const isWithinLimit = roundedUp * strength.risePerUnit <= largestRise;
  const largestDose = isWithinLimit && roundedUp * (dosesPerDay - 1) < amountPerDay ? roundedUp : each;
  return {
    risePerDay,
    amountPerDay,
    unit,
    dosesPerDay,
    largestDose,
    largestRise: largestDose * strength.risePerUnit,
    hoursApart: hoursApart(dosesPerDay),
  };
}

/** A rise alone, when the keeper has named no product. */
export function risesAlone(risePerDay: number, largestRise: number): DailyDose {
  const dosesPerDay = risePerDay > 0 ? Math.ceil(risePerDay / largestRise - 1e-9) : 0;
  if (dosesPerDay === 0) return { risePerDay: 0, dosesPerDay: 0, largestRise: 0, hoursApart: 24 };
  return { risePerDay, dosesPerDay, largestRise: risePerDay / dosesPerDay, hoursApart: hoursApart(dosesPerDay) };
}

/** Equal pauses over the day, on the half hour below, or on the minute where that is less, so that all of them fit into it. */
function hoursApart(dosesPerDay: number): number {
  return dosesPerDay <= 48 ? Math.floor(48 / dosesPerDay) / 2 : Math.floor(1440 / dosesPerDay) / 60;
}
