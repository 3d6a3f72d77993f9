import type { Quality, Reading } from '../quality/reading.ts';
import { judgeCalmValue } from './calm-rules.ts';
import { conditionAbove, conditionBelow } from './condition.ts';
import { addToMedian } from './five-minute-median.ts';
import { flatCondition } from './flat-line.ts';
import { badShareCondition } from './impossible-value.ts';
import type { RoomIndex, Stream } from './room-index.ts';
import { forgetTimes, type RoomState } from './room-state.ts';
import { slots } from './rule-settings.ts';
import { learnHabit, silenceAllowedMs, silentCondition } from './silent-probe.ts';
import { type Events, feed, move } from './stream-alarm.ts';

/**
 * Lets one reading move the rules of its stream. The usual good reading allocates nothing.
 *
 * @param events  the shared empty list, or one that this step owns
 * @returns the same list, or a new one when there is something to tell
 */
export function stepReading(
  index: RoomIndex,
  state: RoomState,
  stream: Stream,
  reading: Reading,
  nowMs: number,
  events: Events,
): Events {
  const { quality } = reading;
  if (quality.flag === 'missing') return events;
  const { series } = stream;
  // A stamp ahead of the clock must not open the future: it would silence every later reading as late.
  const timeMs = Math.min(reading.timeMs, nowMs);
  const elapsedMs = series.hasSpoken ? timeMs - series.heardMs : 0;
  if (series.hasSpoken && elapsedMs <= 0) {
    // Late or repeated readings move nothing. When the clock itself is behind the last reading, it has stepped back.
    if (nowMs >= series.heardMs) return events;
    forgetTimes(series);
  } else if (elapsedMs > 0) {
    learnHabit(series.habit, elapsedMs);
  }
  series.hasSpoken = true;
  series.heardMs = timeMs;
  let told = events;
  if (series.alarms[slots.silent] !== null) told = feed(index, state, stream, 'silent', 'normal', timeMs, nowMs, told);
  // What a probe says while somebody works on it is about the work, not about the water.
  if (isInMaintenance(state, series.system, series.probe, nowMs)) return told;
  const isGood = quality.flag === 'pass' || quality.flag === 'not_evaluated';
  told = judgeProbe(index, state, stream, quality, isGood, Math.max(0, elapsedMs), timeMs, nowMs, told);
  return isGood ? judgeWater(index, state, stream, quality.value, timeMs, nowMs, told) : told;
}

/** Rules about the probe: bad readings and stuck ones. */
function judgeProbe(
  index: RoomIndex,
  state: RoomState,
  stream: Stream,
  quality: Quality,
  isGood: boolean,
  elapsedMs: number,
  timeMs: number,
  nowMs: number,
  events: Events,
): Events {
  const { series, plan } = stream;
  const { impossible, flat } = plan.stream;
  let told = events;
  if (impossible !== undefined && (!isGood || series.bad.share > 0 || series.alarms[slots.impossible] !== null)) {
    const condition = badShareCondition(series.bad, !isGood, elapsedMs, impossible.limit, impossible.deadband);
    if (condition === 'abnormal' || series.alarms[slots.impossible] !== null) {
      told = feed(index, state, stream, 'impossible', condition, timeMs, nowMs, told);
    }
  }
  if (flat !== undefined && 'value' in quality) {
    const condition = flatCondition(series.stuck, quality.value, isGood, timeMs, flat.limit);
    if (condition === 'abnormal' || series.alarms[slots.flat] !== null) {
      told = feed(index, state, stream, 'flat', condition, timeMs, nowMs, told);
    }
  }
  return told;
}

/** Rules about the water, from good values alone. */
function judgeWater(
  index: RoomIndex,
  state: RoomState,
  stream: Stream,
  value: number,
  timeMs: number,
  nowMs: number,
  events: Events,
): Events {
  const { series, plan } = stream;
  let told = events;
  series.goodValue = value;
  series.goodMs = timeMs;
  const { above, below } = plan.stream;
  if (above !== undefined) {
    const condition = conditionAbove(value, above.limit, above.deadband);
    if (condition === 'abnormal' || series.alarms[slots.above] !== null) {
      told = feed(index, state, stream, 'above', condition, timeMs, nowMs, told);
    }
  }
  if (below !== undefined) {
    const condition = conditionBelow(value, below.limit, below.deadband);
    if (condition === 'abnormal' || series.alarms[slots.below] !== null) {
      told = feed(index, state, stream, 'below', condition, timeMs, nowMs, told);
    }
  }
  const median = addToMedian(series.median, value, timeMs);
  return median === undefined ? told : judgeCalmValue(index, state, stream, median, series.median.endedMs, nowMs, told);
}

/** Judges the silence of a stream when time has passed. Telling waits until all streams are judged: see `causes.ts`. */
export function judgeSilence(index: RoomIndex, state: RoomState, stream: Stream, nowMs: number): void {
  const { series, plan } = stream;
  if (plan.stream.silent === undefined) return;
  // After its edge came back it gets its usual time anew; while the edge is down its silence is latched and hidden.
  const edgeUpMs = index.edgeUpMs.get(series.probe) ?? 0;
  const listeningMs = Math.max(state.listeningSinceMs, Number.isFinite(edgeUpMs) ? edgeUpMs : 0);
  const allowedMs = silenceAllowedMs(series.habit, stream.everyMs, plan.defaults.isStreamed);
  const isHeardAgain = series.hasSpoken && series.heardMs >= listeningMs;
  const condition = silentCondition(nowMs - Math.max(series.heardMs, listeningMs), allowedMs, isHeardAgain);
  if (condition !== 'abnormal' && series.alarms[slots.silent] === null) return;
  move(index, stream, 'silent', condition, nowMs, nowMs);
}

/** True while nothing of the probe is judged by design. */
export function isInMaintenance(state: RoomState, system: string, probe: string, nowMs: number): boolean {
  if (state.maintenance.length === 0) return false;
  return state.maintenance.some(
    (window) => window.system === system && (window.probe ?? probe) === probe && nowMs < window.untilMs,
  );
}
