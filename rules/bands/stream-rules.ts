import type { Reading } from '../quality/reading.ts';
import { learnHabit } from '../verdicts/silence.ts';
import { addToDayCycle } from './day-cycle.ts';
import { addToMedian } from './five-minute-median.ts';
import type { Seen, SeenMedian, SeenReading, StreamAlarm } from './kinds/kind.ts';
import { type SlotName, slotNames, slots, streamAlarms } from './kinds/list.ts';
import type { RoomIndex, Stream } from './room-index.ts';
import { forgetTimes } from './room-state.ts';
import { feed, move } from './stream-alarm.ts';

/** The alarms that judge each reading, each good value, each five-minute median, or when only time has passed. */
const judges = {
  reading: judgesOf('reading'),
  value: judgesOf('value'),
  median: judgesOf('median'),
  look: judgesOf('look'),
};

type Each = StreamAlarm['judge']['each'];
type JudgeOf<Kind extends Each> = Extract<StreamAlarm['judge'], { each: Kind }>['condition'];

function judgesOf<Kind extends Each>(each: Kind): { name: SlotName; condition: JudgeOf<Kind> }[] {
  return slotNames
    .filter((name) => streamAlarms[name].alarm.judge.each === each)
    .map((name) => ({ name, condition: streamAlarms[name].alarm.judge.condition as JudgeOf<Kind> }));
}

/** Lets one reading move the rules of its stream. The usual good reading allocates next to nothing. */
export function stepReading(room: RoomIndex, stream: Stream, reading: Reading): void {
  const { quality } = reading;
  if (quality.flag === 'missing') return;
  const { series } = stream;
  // A stamp ahead of the clock must not open the future: it would silence every later reading as late.
  const timeMs = Math.min(reading.timeMs, room.nowMs);
  const elapsedMs = series.hasSpoken ? timeMs - series.heardMs : 0;
  if (series.hasSpoken && elapsedMs <= 0) {
    // Late or repeated readings move nothing. When the clock itself is behind the last reading, it has stepped back.
    if (room.nowMs >= series.heardMs) return;
    forgetTimes(series);
  } else if (elapsedMs > 0) {
    learnHabit(series.habit, elapsedMs);
  }
  series.hasSpoken = true;
  series.heardMs = timeMs;
  for (const { name } of judges.look) feed(room, stream, name, 'normal', timeMs);
  // What a probe says while somebody works on it is about the work, not about the water.
  if (isInMaintenance(room, series.system, series.probe)) return;
  const isGood = quality.flag === 'pass' || quality.flag === 'not_evaluated';
  judgeProbe(room, stream, { quality, isGood, elapsedMs: Math.max(0, elapsedMs), timeMs });
  if (!isGood) return;
  series.goodValue = quality.value;
  series.goodMs = timeMs;
  for (const { name, condition } of judges.value) {
    const settings = stream.plan.stream[name];
    if (settings === undefined) continue;
    feed(room, stream, name, condition({ room, stream, settings, timeMs, value: quality.value }) ?? 'unknown', timeMs);
  }
  const median = addToMedian(series.median, quality.value, timeMs);
  if (median !== undefined) judgeCalmValue(room, stream, median, series.median.endedMs);
}

/** Rules about the probe: bad readings and stuck ones. */
function judgeProbe(
  room: RoomIndex,
  stream: Stream,
  seen: Omit<SeenReading, keyof Seen | 'isKnown'> & { timeMs: number },
): void {
  for (const { name, condition } of judges.reading) {
    const settings = stream.plan.stream[name];
    if (settings === undefined) continue;
    const isKnown = stream.series.alarms[slots[name]] !== null;
    const found = condition({ room, stream, settings, isKnown, ...seen });
    if (found !== undefined) feed(room, stream, name, found, seen.timeMs);
  }
}

/**
 * The rules that compare the water with itself or with another probe, moved by each five-minute median.
 *
 * @param median  in the metric's store unit
 */
export function judgeCalmValue(room: RoomIndex, stream: Stream, median: number, timeMs: number): void {
  const { series, plan } = stream;
  series.calmValue = median;
  series.calmMs = timeMs;
  // What a fault made of the water must not become what the day is used to.
  const isUsual = !falseHabits.some((name) => series.alarms[slots[name]]?.isLatched === true);
  const isLearned = isUsual && (plan.stream.departure !== undefined || plan.stream.drift !== undefined);
  const isHourOver = isLearned && addToDayCycle(series.cycle, median, timeMs);
  const seen: Omit<SeenMedian, 'settings'> = { room, stream, timeMs, median, isUsual: isLearned, isHourOver };
  for (const { name, condition } of judges.median) {
    const settings = plan.stream[name];
    if (settings === undefined) continue;
    const found = condition({ ...seen, settings });
    if (found !== undefined) feed(room, stream, name, found, timeMs);
  }
}

const falseHabits: readonly SlotName[] = ['above', 'below', 'flat', 'impossible'];

/** Judges a stream when time has passed. Telling waits until all streams are judged: see `causes.ts`. */
export function judgeSilence(room: RoomIndex, stream: Stream): void {
  for (const { name, condition } of judges.look) {
    const settings = stream.plan.stream[name];
    if (settings === undefined) continue;
    const found = condition({ room, stream, settings, timeMs: room.nowMs });
    if (found !== undefined) move(room, stream, name, found, room.nowMs);
  }
}

/** True while nothing of the probe is judged by design. */
export function isInMaintenance({ state, nowMs }: RoomIndex, system: string, probe: string): boolean {
  if (state.maintenance.length === 0) return false;
  return state.maintenance.some(
    (window) => window.system === system && (window.probe ?? probe) === probe && nowMs < window.untilMs,
  );
}
