import type { Advice, DailyDose, WaterSteps } from './advice-types.ts';

/**
 * Whether a piece of advice is news beside the one before it: something else to do, another reason to wait, or an amount
 * that differs by more than is known. Within their uncertainty two amounts are the same to whoever pours them.
 */
export function isNewsBeside(before: Advice, now: Advice): boolean {
  const waitsFor = ({ kind, holdBacks }: Advice): string =>
    [kind === 'nothing' ? 'dose' : kind, ...holdBacks.map(({ rule }) => rule)].join();
  if (before.analyte !== now.analyte || waitsFor(before) !== waitsFor(now)) return true;
  if (before.dosingNow !== now.dosingNow) return true;
  const { levelWithin = 0, demandWithin = 0 } = now.sure;
  return (
    isOther(before.today, now.today, levelWithin) ||
    isOther(before.plan, now.plan, demandWithin) ||
    differsInWater(before.water, now.water, levelWithin)
  );
}

type OfStock = DailyDose & { product?: { id: string } };

/** Another stock, another way to pour it, or an amount that differs by more than is known. */
function isOther(before: readonly OfStock[], now: readonly OfStock[], within: number): boolean {
  if (before.length !== now.length) return true;
  return now.some((dose) => {
    const same = before.find(({ product }) => product?.id === dose.product?.id);
    return same === undefined || isOtherMeasure(same, dose) || Math.abs(same.risePerDay - dose.risePerDay) > within;
  });
}

/** Another product, strength or number of doses is another amount to pour for the same rise. */
function isOtherMeasure(before: DailyDose, now: DailyDose): boolean {
  if (before.unit !== now.unit || before.dosesPerDay !== now.dosesPerDay) return true;
  const perUnit = (dose: DailyDose): number => (dose.amountPerDay ? dose.risePerDay / dose.amountPerDay : 0);
  return Math.abs(perUnit(before) - perUnit(now)) > 0.02 * perUnit(now);
}

function differsInWater(before: WaterSteps | undefined, now: WaterSteps | undefined, within: number): boolean {
  if (before !== undefined && now !== undefined && before.do !== now.do) return true;
  return Math.abs((before?.totalChange ?? 0) - (now?.totalChange ?? 0)) > within;
}
