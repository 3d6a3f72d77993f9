import type { Quality, Reading } from '../quality/reading.ts';
import { learnHabit } from '../verdicts/silence.ts';
import type { Condition } from './condition.ts';
import { addToDayCycle } from './day-cycle.ts';
import { addToMedian } from './five-minute-median.ts';
import type { StreamAlarm } from './kinds/kind.ts';
import { type SlotName, slotNames, slots, streamAlarms } from './kinds/list.ts';
import type { RoomIndex, Stream } from './room-index.ts';
import type { MetricPlan } from './room-rules.ts';
import { forgetTimes } from './room-state.ts';
import type { RuleSettings } from './rule-settings.ts';
import { feed, move } from './stream-alarm.ts';

type Each = StreamAlarm['judge']['each'];
type JudgeOf<Kind extends Each> = Extract<StreamAlarm['judge'], { each: Kind }>['condition'];
type Judge<Kind extends Each> = { name: SlotName; slot: number; settings: RuleSettings; condition: JudgeOf<Kind> };
type Judges = { [Kind in Each]: Judge<Kind>[] };

/** The rules of a plan that are on, by what moves them. A plan never changes, and each reading asks for them. */
const judgesOfPlans = new WeakMap<MetricPlan, Judges>();

function judgesOf(plan: MetricPlan): Judges {
  const known = judgesOfPlans.get(plan);
  if (known !== undefined) return known;
  const of = <Kind extends Each>(each: Kind): Judge<Kind>[] =>
    slotNames.flatMap((name) => {
      const { judge, slot } = streamAlarms[name].alarm;
      const settings = plan.stream[name];
      if (judge.each !== each || settings === undefined) return [];
      return { name, slot, settings, condition: judge.condition as JudgeOf<Kind> };
    });
  const judges = { reading: of('reading'), value: of('value'), median: of('median'), look: of('look') };
  judgesOfPlans.set(plan, judges);
  return judges;
}

type Place = { name: SlotName; slot: number };

/** Only an abnormal condition makes an alarm; until then there is nothing to move. */
function tell(room: RoomIndex, stream: Stream, { name, slot }: Place, found: Condition | undefined, timeMs: number) {
  if (found === undefined || (found !== 'abnormal' && stream.series.alarms[slot] === null)) return;
  feed(room, stream, name, found, timeMs);
}

/** Lets one reading move the rules of its stream. The usual good reading allocates one small object. */
export function stepReading(room: RoomIndex, stream: Stream, reading: Reading): void {
  const { quality } = reading;
  if (quality.flag === 'missing') return;
  const { series } = stream;
  const judges = judgesOf(stream.plan);
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
  for (const judge of judges.look) tell(room, stream, judge, 'normal', timeMs);
  // What a probe says while somebody works on it is about the work, not about the water.
  if (isInMaintenance(room, series.system, series.probe)) return;
  const isGood = quality.flag === 'pass' || quality.flag === 'not_evaluated';
  judgeProbe(room, stream, judges.reading, quality, isGood, elapsedMs, timeMs);
  if (isGood) judgeWater(room, stream, judges.value, quality.value, timeMs);
}

/** Rules about the probe: bad readings and stuck ones. */
function judgeProbe(
  room: RoomIndex,
  stream: Stream,
  judges: readonly Judge<'reading'>[],
  quality: Quality,
  isGood: boolean,
  elapsedMs: number,
  timeMs: number,
): void {
  const [first] = judges;
  if (first === undefined) return;
  const { settings } = first;
  const seen = { room, stream, settings, timeMs, quality, isGood, elapsedMs: Math.max(0, elapsedMs), isKnown: false };
  for (const judge of judges) {
    seen.settings = judge.settings;
    seen.isKnown = stream.series.alarms[judge.slot] !== null;
    tell(room, stream, judge, judge.condition(seen), timeMs);
  }
}

/** Rules about the water, from good values alone. */
function judgeWater(
  room: RoomIndex,
  stream: Stream,
  judges: readonly Judge<'value'>[],
  value: number,
  timeMs: number,
): void {
  const { series } = stream;
  series.goodValue = value;
  series.goodMs = timeMs;
  const [first] = judges;
  if (first !== undefined) {
    const seen = { room, stream, settings: first.settings, timeMs, value };
    for (const judge of judges) {
      seen.settings = judge.settings;
      tell(room, stream, judge, judge.condition(seen), timeMs);
    }
  }
  const median = addToMedian(series.median, value, timeMs);
  if (median !== undefined) judgeCalmValue(room, stream, median, series.median.endedMs);
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
  for (const judge of judgesOf(plan).median) {
    const { settings } = judge;
    const found = judge.condition({ room, stream, settings, timeMs, median, isUsual: isLearned, isHourOver });
    if (found !== undefined) feed(room, stream, judge.name, found, timeMs);
  }
}

const falseHabits: readonly SlotName[] = ['above', 'below', 'flat', 'impossible'];

/** Judges a stream when time has passed. Telling waits until all streams are judged: see `causes.ts`. */
export function judgeSilence(room: RoomIndex, stream: Stream): void {
  for (const { name, settings, condition } of judgesOf(stream.plan).look) {
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
