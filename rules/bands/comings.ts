import { hourMs, minuteMs } from '../clock/durations.ts';
import { durationText } from '../words/value-text.ts';

/**
 * What comes again and again for one cause is one alarm.
 *
 * The second coming within eight hours, or the third within about a day, is told as that: it says how often it came, and the alarm
 * stays active when the water is well again, until a coming is overdue: a period and a quarter after the last one began, and two
 * hours after it ended. Its text then says that the value is back. Meanwhile a further coming is in the alarm's text and rings no
 * phone, unless it is worse than those that were told since the alarm was raised: further out by the rule's own deadband (a tenth
 * at least), out on the other side, or a quarter longer. What is worse is always told, since a missed alarm costs more than a repeat.
 *
 * Only the telling waits. The condition itself ends with its off-delay as ever, so that it hides no other alarm of the stream and
 * holds back nothing that is learned from good water.
 *
 * Windows and margins: common practice, no published source (ISA-18.2 counts three in a minute as chattering, for plants; from
 * memory). Nobody knows at the first coming that there will be a second, so what comes again is two notices at least.
 */

/** Two comings within a third of a day have one cause. Chosen here. */
export const twiceWithinMs = 8 * hourMs;
/** So have three within about a day: common practice, no published source. */
export const chatteringWindowMs = 26 * hourMs;
/** What comes and goes fast has stayed away only after so long. Chosen here. */
const leastCalmMs = 2 * hourMs;
/** So many of its periods after it last began it is overdue. Chosen here. */
const overduePeriods = 1.25;
/** Further out, or longer, by less than this is the same again. Chosen here. */
const sameShare = 0.1;
const sameLength = 1.25;
const sameLengthMs = 10 * minuteMs;

/** The comings since an alarm was last raised: how often, and how bad those were that were told. Plain data. */
export type Comings = {
  count: number;
  sinceMs: number;
  /** How far beyond its limit it was at most, upwards and downwards, in the unit of the limit; 0 or more. */
  high: number;
  low: number;
  /** Of the longest, from the first abnormal value. */
  longestMinutes: number;
  /** The present one was told. */
  isTold: boolean;
  /** The present one was not told, and is worse than those that were. */
  isWorse: boolean;
};

type Remembered = {
  latchings: readonly number[];
  comings?: Comings;
  isLatched: boolean;
  isTold: boolean;
  abnormalSinceMs: number | null;
  endedMs: number | null;
  seenMs: number | null;
};

/** How many of the last raises came for one cause, at most three; 0 for one that stands alone. @param latchings  oldest first */
export function comingsOf(latchings: readonly number[]): number {
  const isWithin = (count: number, windowMs: number) =>
    latchings.length >= count && latchings.at(-1)! - latchings.at(-count)! <= windowMs;
  if (isWithin(3, chatteringWindowMs)) return 3;
  return isWithin(2, twiceWithinMs) ? 2 : 0;
}

/** A condition has begun: the comings with this one. @param record  with this one's time as its last latching */
export function withComing({ latchings, comings, isTold }: Remembered): Comings {
  const again = { isTold: false, isWorse: false };
  if (isTold && comings !== undefined) return { ...comings, ...again, count: comings.count + 1 };
  const count = Math.max(1, comingsOf(latchings));
  return { ...again, count, sinceMs: latchings.at(-count)!, high: 0, low: 0, longestMinutes: 0 };
}

/**
 * Notes how bad the present coming is, while its condition is abnormal.
 *
 * @param reach     how far beyond its limit the value is, negative downwards, in the unit of the limit; undefined where a rule has none
 * @param deadband  of the rule, in the same unit
 * @param timeMs    UTC milliseconds of the evidence
 * @returns whether this made it one that has to be told again
 */
export function noteReach(record: Remembered, reach: number | undefined, deadband: number, timeMs: number): boolean {
  const { comings, abnormalSinceMs } = record;
  if (!record.isLatched || comings === undefined) return false;
  const minutes = Math.max(0, timeMs - (abnormalSinceMs ?? timeMs)) / minuteMs;
  const [up, down] = [Math.max(0, reach ?? 0), Math.max(0, -(reach ?? 0))];
  if (!record.isTold || comings.isTold) {
    comings.high = Math.max(comings.high, up);
    comings.low = Math.max(comings.low, down);
    comings.longestMinutes = Math.max(comings.longestMinutes, minutes);
    return false;
  }
  if (comings.isWorse) return false;
  const isFurther = (now: number, before: number) => now > before + Math.max(deadband, sameShare * before);
  const mostMinutes = comings.longestMinutes * sameLength + sameLengthMs / minuteMs;
  comings.isWorse =
    (up > 0 && (comings.high === 0 || isFurther(up, comings.high))) ||
    (down > 0 && (comings.low === 0 || isFurther(down, comings.low))) ||
    minutes > mostMinutes;
  return comings.isWorse;
}

/**
 * Until when an alarm that is over stays active because it is expected again; undefined when it is not, or is overdue by the
 * evidence. Without evidence it stays: nobody knows whether it came again.
 *
 * @returns UTC milliseconds
 */
export function expectedUntilMs({ latchings, endedMs, seenMs, isLatched }: Remembered): number | undefined {
  const count = comingsOf(latchings);
  // Evidence from before its end: the clock has stepped back, and nothing is known of its periods.
  if (count === 0 || isLatched || endedMs === null || seenMs === null || seenMs < endedMs) return undefined;
  const last = latchings.slice(-count);
  const periodMs = Math.max(...last.slice(1).map((atMs, index) => atMs - last[index]!));
  const untilMs = Math.max(last.at(-1)! + overduePeriods * periodMs, endedMs + leastCalmMs);
  return seenMs < untilMs ? untilMs : undefined;
}

/** For an alarm's sentence, with a space before it; nothing for one that came once. @param nowMs  UTC milliseconds */
export function comingsText(record: Remembered, nowMs: number): string {
  const { comings, isLatched } = record;
  if (comings === undefined || comings.count < 2) return '';
  const span = durationText(Math.max(0, nowMs - comings.sinceMs));
  const often = ` It comes and goes: ${comings.count} times in ${span}`;
  if (isLatched && comings.isWorse) return `${often}, and this time it is worse.`;
  if (isLatched) return `${often}. Look for one cause. You will hear again only if it gets worse.`;
  const untilMs = expectedUntilMs(record);
  return untilMs === undefined
    ? ` It came and went ${comings.count} times, and has stayed away since.`
    : `${often}. This alarm ends if it stays away for another ${durationText(untilMs - nowMs)}.`;
}
