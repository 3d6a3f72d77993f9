import { durationText } from '#rules/words/value-text.ts';
import type { Presence } from '../../flow/clock/presence-stamp.ts';
import { phoneLine } from '../../judgement/notices/phone-line.ts';
import { localTime } from '../../model/calendar/local-time.ts';

/** A restart takes seconds and the trace is up to a minute old: below this nobody has missed anything. */
const leastAwayMs = 3 * 60_000;

export type Absence = { fromMs: number; toMs: number; isOrderly: boolean };

/**
 * The time in which the hub was not there, or undefined when it was too short to speak of. A start before the trace (a board
 * without a battery clock wakes in the past) says nothing yet: ask again when the clock has been set.
 */
export function absenceBefore(presence: Presence | undefined, startedMs: number): Absence | undefined {
  if (presence === undefined || startedMs - presence.aliveMs < leastAwayMs) return undefined;
  return { fromMs: presence.aliveMs, toMs: startedMs, isOrderly: presence.isStopped };
}

export type Missed = {
  probes: number;
  systems: number;
  /** Alarms that stood when the hub went. */
  standing: number;
};

/** The line for the phone, e.g. `The hub itself was away from 02:10 to 02:40 (30 min), cut off: 12 probes in 3 systems …`. */
export function absenceLine(absence: Absence, missed: Missed, nowMs: number, timezone: string): string {
  const from = localTime(absence.fromMs, nowMs, timezone);
  const to = localTime(absence.toMs, nowMs, timezone);
  const how = absence.isOrderly ? 'it was stopped' : 'it was cut off, power or fault';
  const away = durationText(absence.toMs - absence.fromMs);
  const probes = `${missed.probes} ${missed.probes === 1 ? 'probe' : 'probes'}`;
  const systems = `${missed.systems} ${missed.systems === 1 ? 'system' : 'systems'}`;
  const alarms =
    missed.standing === 0 ? '' : ` ${missed.standing} ${missed.standing === 1 ? 'alarm' : 'alarms'} stood before.`;
  return phoneLine(
    `The hub itself was away from ${from} to ${to} (${away}): ${how}. Nobody watched ${probes} in ${systems}.${alarms}`,
  );
}
