import { conditionAbove, conditionBelow } from './condition.ts';
import { addToDayCycle, distanceFromUsual } from './day-cycle.ts';
import { departureCondition } from './departure.ts';
import { walkOf } from './drift.ts';
import { disagreement } from './probes-disagree.ts';
import { moveWithinHour } from './rate.ts';
import type { RoomIndex, Stream } from './room-index.ts';
import type { RoomState } from './room-state.ts';
import { type SlotName, slots } from './rule-settings.ts';
import { type Events, feed } from './stream-alarm.ts';
import { swingOfDay } from './swing.ts';

/** A probe whose last calm value is older than this has no say about its neighbour. */
const presentMs = 15 * 60_000;
/** The estimator knows more than one stream: for a day after it spoke, the stream's own drift is not judged. */
const forecastHoldsMs = 24 * 3_600_000;
const hourMs = 3_600_000;

/**
 * The rules that compare the water with itself or with another probe, moved by each five-minute median.
 *
 * @param median  in the metric's store unit
 */
export function judgeCalmValue(
  index: RoomIndex,
  state: RoomState,
  stream: Stream,
  median: number,
  timeMs: number,
  nowMs: number,
  events: Events,
): Events {
  const { series, plan } = stream;
  const { rate, swing, departure } = plan.stream;
  let told = events;
  series.calmValue = median;
  series.calmMs = timeMs;
  if (rate !== undefined) {
    series.figures.moveInHour = moveWithinHour(series.lastHour, median, timeMs);
    const condition = conditionAbove(Math.abs(series.figures.moveInHour), rate.limit, rate.deadband);
    told = feed(index, state, stream, 'rate', condition, timeMs, nowMs, told);
  }
  if (swing !== undefined) {
    series.figures.swing = swingOfDay(series.lastDay, median, timeMs);
    const condition = conditionAbove(series.figures.swing, swing.limit, swing.deadband);
    told = feed(index, state, stream, 'swing', condition, timeMs, nowMs, told);
  }
  // What a fault made of the water must not become what the day is used to.
  const isUsual =
    !isHolding(stream, 'above') &&
    !isHolding(stream, 'below') &&
    !isHolding(stream, 'flat') &&
    !isHolding(stream, 'impossible');
  if (isUsual && (plan.stream.departure !== undefined || plan.stream.drift !== undefined)) {
    const isHourOver = addToDayCycle(series.cycle, median, timeMs);
    if (departure !== undefined) {
      const distance = distanceFromUsual(series.cycle, median, timeMs);
      series.figures.distanceFromUsual = distance ?? 0;
      const condition = departureCondition(series.cycle, distance, departure.limit, departure.deadband);
      told = feed(index, state, stream, 'departure', condition, timeMs, nowMs, told);
    }
    if (isHourOver) told = judgeDrift(index, state, stream, timeMs, nowMs, told);
  }
  return judgeNeighbours(index, state, stream, timeMs, nowMs, told);
}

function isHolding(stream: Stream, slot: SlotName): boolean {
  return stream.series.alarms[slots[slot]]?.isLatched === true;
}

function judgeDrift(
  index: RoomIndex,
  state: RoomState,
  stream: Stream,
  timeMs: number,
  nowMs: number,
  events: Events,
): Events {
  const { series, plan } = stream;
  const { drift } = plan.stream;
  if (drift === undefined || plan.band === undefined) return events;
  const forecastMs = index.analytes.get(`${series.system}/${series.metric}`)?.forecastMs ?? null;
  const isForecast = forecastMs !== null && nowMs - forecastMs < forecastHoldsMs;
  const walk = walkOf(series.cycle, plan.band, Math.floor(timeMs / hourMs) - 1);
  if (walk === undefined && !isForecast) return events;
  series.figures.perDay = walk?.perDay ?? 0;
  series.figures.hoursToLeave = walk?.hoursToLeave ?? null;
  const hours = isForecast ? null : series.figures.hoursToLeave;
  const condition = hours === null ? 'normal' : conditionBelow(hours, drift.limit, drift.deadband);
  return feed(index, state, stream, 'drift', condition, timeMs, nowMs, events);
}

function judgeNeighbours(
  index: RoomIndex,
  state: RoomState,
  stream: Stream,
  timeMs: number,
  nowMs: number,
  events: Events,
): Events {
  const { series, plan } = stream;
  const { disagree } = plan.stream;
  if (disagree === undefined) return events;
  const peers = index.byName.get(series.metric)?.get(series.system);
  if (peers === undefined || peers.size < 2) return events;
  const values = [];
  let first = stream;
  for (const peer of peers.values()) {
    // One alarm for the lot: it stays with the probe whose name comes first.
    if (peer.series.probe < first.series.probe) first = peer;
    const { calmValue, calmMs, probe } = peer.series;
    if (calmValue !== null && timeMs - calmMs <= presentMs) values.push({ probe, value: calmValue });
  }
  if (first !== stream) return events;
  const found = disagreement(values);
  if (found === undefined) return events;
  series.figures.difference = found.difference;
  series.figures.oddProbe = found.odd;
  const condition = conditionAbove(found.difference, disagree.limit, disagree.deadband);
  return feed(index, state, stream, 'disagree', condition, timeMs, nowMs, events);
}
