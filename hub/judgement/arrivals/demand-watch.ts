import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import { shownAs } from '#rules/words/value-text.ts';
import type { Arrival } from './arrivals-state.ts';

/** Days after an arrival in which alkalinity is tested each day and the rise in use is watched. */
export const demandWatchDays = 14;

/** Fewer tests than this after an arrival say nothing of it. */
const leastTests = 3;

export type DemandOfBatch = {
  /** Before it came, and now (at the end of the two weeks once they are over); dKH a day. */
  before?: { perDay: number; sd: number };
  after?: { perDay: number; sd: number };
  /** What it added, with its standard uncertainty; absent while too little is known. */
  added?: { perDay: number; sd: number };
  testsSince: number;
  watchEndsMs: number;
  isOver: boolean;
  /** In a sentence for the person. */
  text: string;
};

/**
 * What a batch added to the use of alkalinity: the demand filter's estimate now less that of the moment before it came.
 *
 * The two are taken as independent. They share the tests before the arrival, so the uncertainty stated is, if anything, too wide.
 *
 * @param demandAt    the filter's estimate from all that was known by a time
 * @param testTimesMs of alkalinity since the arrival
 * @param units       in which the sentence is put; the numbers stay in dKH
 * @param others      names of batches that came into the same water within the two weeks: their share cannot be told apart
 */
export function demandOfBatch(
  arrival: Pick<Arrival, 'arrivedMs'>,
  demandAt: (timeMs: number) => DemandEstimate | undefined,
  testTimesMs: readonly number[],
  others: readonly string[],
  nowMs: number,
  units: KeepersUnits = {},
): DemandOfBatch | undefined {
  const { arrivedMs } = arrival;
  if (arrivedMs === undefined) return undefined;
  const watchEndsMs = arrivedMs + demandWatchDays * dayMs;
  const untilMs = Math.min(nowMs, watchEndsMs);
  // A moment before: the arrival itself loosens the estimate.
  const before = demandAt(arrivedMs - 1);
  const after = demandAt(untilMs);
  const testsSince = testTimesMs.filter((timeMs) => timeMs > arrivedMs && timeMs <= untilMs).length;
  const isKnownBefore = before !== undefined && before.testsUsed >= leastTests;
  const added =
    isKnownBefore && after !== undefined && testsSince >= leastTests
      ? { perDay: after.demandPerDay - before.demandPerDay, sd: Math.hypot(after.demandSd, before.demandSd) }
      : undefined;
  return {
    ...(before === undefined ? {} : { before: { perDay: before.demandPerDay, sd: before.demandSd } }),
    ...(after === undefined ? {} : { after: { perDay: after.demandPerDay, sd: after.demandSd } }),
    ...defined({ added }),
    testsSince,
    watchEndsMs,
    isOver: nowMs >= watchEndsMs,
    text: sentence(added, isKnownBefore, others, units),
  };
}

function sentence(
  added: { perDay: number; sd: number } | undefined,
  isKnownBefore: boolean,
  others: readonly string[],
  units: KeepersUnits,
): string {
  if (added === undefined) {
    if (!isKnownBefore) return 'Use before this batch is not known: too few alkalinity tests before it came.';
    return `Not enough tests yet: test alkalinity every day for ${demandWatchDays} days.`;
  }
  const who = others.length === 0 ? 'this batch' : `this batch together with ${others.join(', ')}`;
  const { unit, of } = shownAs('alkalinity', 0, units);
  const [perDay, sd] = [of(added.perDay), of(added.sd)];
  const doubt = Math.abs(perDay) < sd ? ', which may be nothing' : '';
  // One figure of the doubt: more would claim more than is known.
  const digits = sd >= 0.095 ? 1 : 2;
  const amount = `about ${Math.abs(perDay).toFixed(digits)} ± ${Math.max(sd, 0.01).toFixed(digits)} ${unit} a day${doubt}.`;
  if (perDay < 0) return `The use fell by ${amount}`;
  return `${who.charAt(0).toUpperCase()}${who.slice(1)} added ${amount}`;
}
