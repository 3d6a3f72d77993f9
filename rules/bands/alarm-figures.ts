import { dayMs } from '../clock/durations.ts';
import type { AlarmEvent } from './alarm-event.ts';
import { comingsOf } from './comings.ts';

/** A list that is read at a glance. Chosen here. */
const mostFrequentCount = 5;

/** How an alarm system behaves, in the figures that ISA-18.2 and IEC 62682 judge it by (names from memory). */
export type AlarmFigures = {
  days: number;
  /** Times that an alarm was raised (raised again counts too), and for each day. */
  raised: number;
  raisedPerDay: number;
  /** Share of the time in which at least one alarm stood, 0 to 1. */
  timeInAlarm: number;
  /** Ids of alarms that came and went: twice within 8 h, or three times within 26 h. */
  chattering: string[];
  /** The one that stood longest without a break; absent when none stood. `isStanding` when it still does at the end. */
  longestStanding?: { alarm: string; durationMs: number; isStanding: boolean };
  /** Most frequent first, at most five. */
  mostFrequent: { alarm: string; raised: number }[];
};

/**
 * Figures of a period.
 *
 * @param events  oldest first; an alarm raised before the period counts from its start when its end lies in the period
 * @param fromMs  start of the period, UTC milliseconds
 * @param toMs    its end, after the start
 */
export function alarmFigures(
  events: readonly Pick<AlarmEvent, 'alarm' | 'state' | 'timeMs'>[],
  fromMs: number,
  toMs: number,
): AlarmFigures {
  const days = Math.max(0, toMs - fromMs) / dayMs;
  const stretches = standingStretches(events, fromMs, toMs);
  const raises = new Map<string, number[]>();
  for (const { alarm, state, timeMs } of events) {
    const isRaise = state === 'raised' || state === 'reraised';
    if (!isRaise || timeMs < fromMs || timeMs > toMs) continue;
    raises.set(alarm, [...(raises.get(alarm) ?? []), timeMs]);
  }
  const raised = [...raises.values()].reduce((sum, times) => sum + times.length, 0);
  const longest = stretches.reduce<Stretch | undefined>(
    (best, one) => (best === undefined || one.toMs - one.fromMs > best.toMs - best.fromMs ? one : best),
    undefined,
  );
  return {
    days,
    raised,
    raisedPerDay: days === 0 ? 0 : raised / days,
    timeInAlarm: days === 0 ? 0 : coveredMs(stretches) / (days * dayMs),
    chattering: [...raises].filter(([, times]) => isChattering(times)).map(([alarm]) => alarm),
    ...(longest === undefined
      ? {}
      : {
          longestStanding: {
            alarm: longest.alarm,
            durationMs: longest.toMs - longest.fromMs,
            isStanding: longest.isStanding,
          },
        }),
    mostFrequent: [...raises]
      .map(([alarm, times]) => ({ alarm, raised: times.length }))
      .sort((a, b) => b.raised - a.raised || (a.alarm < b.alarm ? -1 : 1))
      .slice(0, mostFrequentCount),
  };
}

type Stretch = { alarm: string; fromMs: number; toMs: number; isStanding: boolean };

/** From raised to cleared, cut to the period. */
function standingStretches(
  events: readonly Pick<AlarmEvent, 'alarm' | 'state' | 'timeMs'>[],
  fromMs: number,
  toMs: number,
): Stretch[] {
  const since = new Map<string, number>();
  const seen = new Set<string>();
  const stretches: Stretch[] = [];
  const add = (alarm: string, startMs: number, endMs: number, isStanding: boolean): void => {
    const stretch = { alarm, fromMs: Math.max(startMs, fromMs), toMs: Math.min(endMs, toMs), isStanding };
    if (stretch.toMs > stretch.fromMs) stretches.push(stretch);
  };
  for (const { alarm, state, timeMs } of events) {
    if (state === 'raised' || state === 'reraised') {
      if (!since.has(alarm)) since.set(alarm, timeMs);
    } else if (state === 'cleared') {
      // An end without a beginning: it stood when the period began.
      const startMs = since.get(alarm) ?? (seen.has(alarm) ? undefined : fromMs);
      if (startMs !== undefined) add(alarm, startMs, timeMs, false);
      since.delete(alarm);
    }
    seen.add(alarm);
  }
  for (const [alarm, startMs] of since) add(alarm, startMs, toMs, true);
  return stretches;
}

/** Length of the union of the stretches. */
function coveredMs(stretches: readonly Stretch[]): number {
  let covered = 0;
  let reachedMs = Number.NEGATIVE_INFINITY;
  for (const { fromMs, toMs } of [...stretches].sort((a, b) => a.fromMs - b.fromMs)) {
    if (toMs <= reachedMs) continue;
    covered += toMs - Math.max(fromMs, reachedMs);
    reachedMs = toMs;
  }
  return covered;
}

function isChattering(times: readonly number[]): boolean {
  return times.some((_, last) => comingsOf(times.slice(0, last + 1)) > 0);
}
