import type { Advice, DailyDose, WaterSteps } from './advice-types.ts';

/**
 * Whether a piece of advice is news beside the one before it: something else to do, another reason to wait, or an amount
 * that differs by more than is known. Within their uncertainty two amounts are the same to whoever pours them.
 */
export function isNewsBeside(before: Advice, now: Advice): boolean {
  const waitsFor = ({ kind, holdBacks }: Advice): string =>
    [kind === 'nothing' ? 'dose' : kind, ...holdBacks.map(({ rule }) => rule)].join();
  if (before.analyte !== now.analyte || waitsFor(before) !== waitsFor(now)) return true;
  const { levelWithin = 0, demandWithin = 0 } = now.sure;
  return (
    differs(before.correction, now.correction, 'totalRise', levelWithin) ||
    isOtherPlan(before.maintenance, now.maintenance, demandWithin) ||
    differsInWater(before.water, now.water, levelWithin)
  );
}

/** None at all is a size of 0: what appears must be larger than what is not known, like any other change. */
function differs<Size extends string, Dose extends DailyDose & Record<Size, number>>(
  before: Dose | undefined,
  now: Dose | undefined,
  size: Size,
  within: number,
): boolean {
  if (before !== undefined && now !== undefined && isOtherMeasure(before, now)) return true;
  return Math.abs((before?.[size] ?? 0) - (now?.[size] ?? 0)) > within;
}

/** No maintenance means that the plan of now stays, not that nothing is dosed. */
function isOtherPlan(before: DailyDose | undefined, now: DailyDose | undefined, within: number): boolean {
  if (before === undefined || now === undefined) return before !== now;
  return differs(before, now, 'risePerDay', within);
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
