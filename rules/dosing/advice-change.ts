import type { Advice, DailyDose } from './advice-types.ts';

/**
 * Whether a piece of advice is news beside the one before it: something else to do, another reason to wait, or an amount
 * that differs by more than is known. Within their uncertainty two amounts are the same to whoever pours them.
 */
export function isNewsBeside(before: Advice, now: Advice): boolean {
  if (before.kind !== now.kind || before.analyte !== now.analyte) return true;
  const rulesOf = ({ holdBacks }: Advice): string => holdBacks.map(({ rule }) => rule).join();
  if (rulesOf(before) !== rulesOf(now)) return true;
  const { levelWithin = 0, demandWithin = 0 } = now.sure;
  return (
    differs(before.maintenance, now.maintenance, demandWithin) ||
    differs(before.correction, now.correction, levelWithin) ||
    before.water?.do !== now.water?.do ||
    Math.abs((before.water?.totalChange ?? 0) - (now.water?.totalChange ?? 0)) > levelWithin
  );
}

function differs(
  before: (DailyDose & { totalRise?: number }) | undefined,
  now: (DailyDose & { totalRise?: number }) | undefined,
  within: number,
): boolean {
  if (before === undefined || now === undefined) return before !== now;
  // Another product or strength is another amount to pour for the same rise.
  if (before.unit !== now.unit || before.dosesPerDay !== now.dosesPerDay) return true;
  const perUnit = (dose: DailyDose): number => (dose.amountPerDay ? dose.risePerDay / dose.amountPerDay : 0);
  if (Math.abs(perUnit(before) - perUnit(now)) > 0.02 * perUnit(now)) return true;
  const size = (dose: DailyDose & { totalRise?: number }): number => dose.totalRise ?? dose.risePerDay;
  return Math.abs(size(before) - size(now)) > within;
}
