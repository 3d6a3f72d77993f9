import { hourMs, minuteMs } from '../clock/durations.ts';
import type { StreamChecks } from './default-checks.ts';
import { grossRangeFlag } from './gross-range.ts';
import { rateOfChangeFlag } from './rate-of-change.ts';
import type { Quality } from './reading.ts';
import { recentMedian, spikeFlag, spikeWindow } from './spike.ts';
import { flatLineFlag, type Stuck } from './stuck-value.ts';

export { defaultChecks, type StreamChecks } from './default-checks.ts';

/** What the checks remember of one stream: plain data that survives JSON. Changed in place by `checkReading`. */
export type StreamState = {
  lastMs: number | null;
  /** The last values that did not fail, oldest first, with their times. */
  recent: number[];
  recentMs: number[];
  stuck: Stuck | null;
  /** The value before this one was doubtful itself: then a fast change from it is no fault of the next one. */
  isLastSuspect: boolean;
  /** The least by which two values in a row differed, and how often they did and did not. */
  step: number;
  changes: number;
  repeats: number;
};

export function emptyStreamState(): StreamState {
  return { lastMs: null, recent: [], recentMs: [], stuck: null, isLastSuspect: false, step: 0, changes: 0, repeats: 0 };
}

/**
 * The quality of a value at the moment it comes; nothing waits for the next one. The flag is the worst of QARTOD's gross
 * range, flat line, spike and rate of change tests, and `why` speaks of the one that gave it. After a gap the tests that
 * look back start again. A value that is late is held against the gross range alone.
 *
 * @param state   owned by this stream, changed in place
 * @param value   in the metric's store unit; NaN and infinities fail
 * @param timeMs  UTC milliseconds
 */
export function checkReading(checks: StreamChecks, state: StreamState, value: number, timeMs: number): Quality {
  const range = grossRangeFlag(value, checks);
  if (range === 'fail') return { flag: 'fail', raw: value, why: 'outside what the probe or the water can give' };
  const gapMs = checks.gapMinutes * minuteMs;
  const elapsedMs = state.lastMs === null ? Number.POSITIVE_INFINITY : timeMs - state.lastMs;
  if (elapsedMs > gapMs || elapsedMs < -gapMs) startAnew(state);
  else if (elapsedMs <= 0) return verdict(range === 'suspect' ? rangeWhy : undefined, value);
  learnStep(state, value);
  const step = stepOf(state, checks.spike ?? 0);
  const isCoarse = step >= coarseShare * (checks.spike ?? Number.POSITIVE_INFINITY);
  const why = range === 'suspect' ? rangeWhy : jumpWhy(checks, state, value, timeMs, elapsedMs, step);
  state.stuck ??= { value, sinceMs: timeMs };
  const flat = flatLineFlag(
    state.stuck,
    value,
    timeMs,
    checks.flatWithin ?? 0,
    inMs(isCoarse ? coarseFlatTimes * (checks.flatSuspectHours ?? Number.NaN) : checks.flatSuspectHours),
    inMs(checks.flatFailHours),
  );
  remember(state, value, timeMs);
  state.isLastSuspect = why !== undefined;
  if (flat === 'fail') return { flag: 'fail', raw: value, why: 'the same value for too long' };
  return verdict(why ?? (flat === 'suspect' ? 'the same value for very long' : undefined), value);
}

const rangeWhy = 'outside what a reef tank shows';

function jumpWhy(
  checks: StreamChecks,
  state: StreamState,
  value: number,
  timeMs: number,
  elapsedMs: number,
  step: number,
): string | undefined {
  const { recent, recentMs } = state;
  const count = recent.length;
  if (count === 0) return undefined;
  if (checks.spike !== undefined && count >= 3) {
    // The median is as old as the middle of its window, and sound water moves on meanwhile.
    const middleMs = recentMs[count - (count < spikeWindow ? 2 : 3)]!;
    const moved = ((checks.movesPerMinute ?? 0) * (timeMs - middleMs)) / minuteMs;
    if (spikeFlag(value, recent, checks.spike + moved + step) === 'suspect') {
      return `a jump from ${roundedTo3(recentMedian(recent))}`;
    }
  }
  if (checks.mostPerMinute !== undefined && !state.isLastSuspect) {
    const before = recent[count - 1]!;
    if (rateOfChangeFlag(beyondStep(value - before, step), elapsedMs, checks.mostPerMinute) === 'suspect') {
      return `a jump from ${roundedTo3(before)}`;
    }
  }
  return undefined;
}

/** A display that shows whole steps stands still in water that moves, and jumps by one where the water crept. */
const coarseShare = 0.25;
/** So many times as long it may stand still: pH moves by a tenth a day, and may turn back before the next tenth. */
const coarseFlatTimes = 6;
/** By so many changes the step is known. */
const leastChanges = 2;
/** A coarse display shows a number again more often than another one. */
const leastRepeats = 4;
/** Less is the arithmetic's and not the display's, as a share of the value. */
const noStep = 1e-9;

function learnStep(state: StreamState, value: number): void {
  const before = state.recent.at(-1);
  const change = before === undefined ? 0 : Math.abs(value - before);
  if (before === undefined) return;
  if (!(change > noStep * Math.abs(value))) {
    state.repeats += 1;
    return;
  }
  state.step = state.changes === 0 ? change : Math.min(state.step, change);
  state.changes += 1;
}

/**
 * 0 until it is known, and for a stream that mostly moves: what moves by large steps there is the water. No display is so coarse
 * that one of its steps would be a spike.
 */
function stepOf({ step, changes, repeats }: StreamState, mostStep: number): number {
  return changes < leastChanges || step > mostStep || repeats < leastRepeats * changes ? 0 : step;
}

function beyondStep(change: number, step: number): number {
  return Math.sign(change) * Math.max(0, Math.abs(change) - step);
}

function startAnew(state: StreamState): void {
  state.recent.length = 0;
  state.recentMs.length = 0;
  state.stuck = null;
  state.isLastSuspect = false;
}

function remember(state: StreamState, value: number, timeMs: number): void {
  state.lastMs = timeMs;
  const { recent, recentMs } = state;
  if (recent.length < spikeWindow) {
    recent.push(value);
    recentMs.push(timeMs);
    return;
  }
  for (let i = 1; i < spikeWindow; i += 1) {
    recent[i - 1] = recent[i]!;
    recentMs[i - 1] = recentMs[i]!;
  }
  recent[spikeWindow - 1] = value;
  recentMs[spikeWindow - 1] = timeMs;
}

function verdict(why: string | undefined, value: number): Quality {
  return why === undefined ? { flag: 'pass', value } : { flag: 'suspect', value, why };
}

function inMs(hours: number | undefined): number | undefined {
  return hours === undefined ? undefined : hours * hourMs;
}

function roundedTo3(value: number): number {
  return Math.round(value * 1000) / 1000;
}
