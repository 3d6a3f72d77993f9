import { durationText } from '#rules/bands/words.ts';
import { phoneLine } from '../../judgement/notices/phone-line.ts';
import { localTime } from '../../model/calendar/local-time.ts';

/** What the hub leaves behind every minute, and when it stops. UTC milliseconds. */
export type Presence = { aliveMs: number; isStopped: boolean };

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

/** The stored trace; undefined when there is none or it is not one. */
export function presenceFrom(body: string | undefined): Presence | undefined {
  if (body === undefined) return undefined;
  try {
    const found: unknown = JSON.parse(body);
    if (typeof found !== 'object' || found === null) return undefined;
    const { aliveMs, isStopped } = found as Partial<Presence>;
    return typeof aliveMs === 'number' ? { aliveMs, isStopped: isStopped === true } : undefined;
  } catch {
    return undefined;
  }
}
