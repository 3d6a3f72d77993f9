import { dayMs } from '../clock/durations.ts';

/** Doses of one giving: what goes in within so many hours is one. */
const givingHours = 6;
const lookedBackDays = 14;
/** @source common practice, no published source: a working week of doses, none of them forgotten twice in a row and all of like size. */
const fewestGivings = 5;
const longestPause = 2.2;
const likeSize = 2.5;
const ratedGivings = 4;

/**
 * What is given by hand a day, where it is given so regularly that it will go on; 0 where it is not. A correction of some days is no
 * rhythm: counted as one it would hide how much is really used.
 *
 * @param doses  of one thing, any order: UTC ms, and an amount in any one unit
 * @returns in that unit a day
 */
export function handRhythmPerDay(doses: readonly { timeMs: number; amount: number }[], nowMs: number): number {
  const givings: { timeMs: number; amount: number }[] = [];
  const recent = doses.filter(({ timeMs }) => timeMs > nowMs - lookedBackDays * dayMs && timeMs <= nowMs);
  for (const { timeMs, amount } of [...recent].sort((a, b) => a.timeMs - b.timeMs)) {
    const last = givings.at(-1);
    if (last !== undefined && timeMs - last.timeMs < (givingHours / 24) * dayMs) last.amount += amount;
    else givings.push({ timeMs, amount });
  }
  if (givings.length < fewestGivings) return 0;
  const pauses = givings.slice(1).map(({ timeMs }, i) => timeMs - givings[i]!.timeMs);
  const pause = middleOf(pauses);
  const size = middleOf(givings.map(({ amount }) => amount));
  const last = givings.at(-1)!;
  const isRegular =
    nowMs - last.timeMs <= longestPause * pause &&
    pauses.every((each) => each <= longestPause * pause) &&
    givings.every(({ amount }) => amount <= likeSize * size && amount >= size / likeSize);
  if (!isRegular) return 0;
  // The newest tell the rate: a keeper who changes the amount is believed within days.
  const rated = givings.slice(-ratedGivings);
  const before = givings[givings.length - rated.length - 1]!;
  return rated.reduce((sum, { amount }) => sum + amount, 0) / ((last.timeMs - before.timeMs) / dayMs);
}

function middleOf(numbers: readonly number[]): number {
  return [...numbers].sort((a, b) => a - b)[Math.floor((numbers.length - 1) / 2)]!;
}
