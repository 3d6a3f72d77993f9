import type { KeptReading } from '#adapters/ports/store.ts';
import type { Metric } from '#rules/quantity/metric.ts';

/** How far back a calibrating person cares to look. */
export const steadyLookMs = 5 * 60_000;
/** Fewer readings, or of a shorter time, say nothing. common practice, no published source */
const leastReadings = 5;
const leastCoverMs = 30_000;
/** Slower probes exist, yet one that was not heard for so long may have been unplugged. */
const silentMs = 2 * 60_000;

export type Steadiness = {
  state: 'steady' | 'moving' | 'too_few' | 'silent';
  /** Of the readings looked at, which are the newest that cover half a minute. */
  readings: number;
  overMs: number;
  /** Greatest less least, and how much is allowed, in the metric's store unit; null while too few are there. */
  spread: number | null;
  limit: number | null;
};

/** Most that a settled probe still moves within half a minute, store unit. common practice, no published source */
const mostMove: Partial<Record<Metric, number>> = { ph: 0.02, temperature: 0.05, salinity: 0.05, orp: 3, level: 2 };
/** The same for all others, as a share of the value. common practice, no published source */
const mostShare = 0.003;

/**
 * Whether a probe that was put into a buffer or a standard has settled there.
 *
 * @param readings  of one probe, oldest first, in the metric's store unit, of any flag: a buffer is no aquarium
 */
export function steadinessOf(metric: Metric, readings: readonly KeptReading[], nowMs: number): Steadiness {
  const newest = readings.at(-1);
  if (newest === undefined || nowMs - newest.timeMs > silentMs) return nothing('silent', 0, 0);
  const looked: KeptReading[] = [];
  for (const reading of readings.toReversed()) {
    if (nowMs - reading.timeMs > steadyLookMs) break;
    looked.push(reading);
    if (looked.length >= leastReadings && newest.timeMs - reading.timeMs >= leastCoverMs) break;
  }
  const overMs = newest.timeMs - (looked.at(-1)?.timeMs ?? newest.timeMs);
  if (looked.length < leastReadings || overMs < leastCoverMs) return nothing('too_few', looked.length, overMs);
  const values = looked.map(({ value }) => value);
  const spread = Math.max(...values) - Math.min(...values);
  const limit = mostMove[metric] ?? mostShare * Math.abs(newest.value);
  return { state: spread <= limit ? 'steady' : 'moving', readings: looked.length, overMs, spread, limit };
}

function nothing(state: Steadiness['state'], readings: number, overMs: number): Steadiness {
  return { state, readings, overMs, spread: null, limit: null };
}
