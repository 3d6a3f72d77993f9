import { hourMs } from '../clock/durations.ts';
import type { Metric } from '../quantity/metric.ts';
import type { Condition } from './condition.ts';

/**
 * A probe of which a small share of the readings fails, for hours: each of them is left out, the water in between looks sound,
 * and nobody would be told of the cable that is about to give up.
 */

/** Over so long the share is taken. */
const windowMs = 6 * hourMs;
/** However sparse the stream, one bad reading is no share. */
const mostWeight = 0.02;

export type FailingShare = {
  share: number;
  /** As it came, of the last that failed; null before the first. */
  lastRaw: number | null;
};

export function emptyFailingShare(): FailingShare {
  return { share: 0, lastRaw: null };
}

/**
 * Takes a reading.
 *
 * @param failedRaw  what came, when it failed; null for one that did not
 * @param elapsedMs  since the reading before, 0 or more
 * @param limit      share of failed readings, 0 to 1, that a sound probe and its cable never reach
 * @param deadband   how far below the limit it must fall to be trusted again
 */
export function failingShareCondition(
  failing: FailingShare,
  failedRaw: number | null,
  elapsedMs: number,
  limit: number,
  deadband: number,
): Condition {
  const weight = Math.min(mostWeight, 1 - Math.exp(-elapsedMs / windowMs));
  failing.share += weight * ((failedRaw === null ? 0 : 1) - failing.share);
  if (failedRaw !== null) failing.lastRaw = failedRaw;
  if (failing.share > limit) return 'abnormal';
  return failing.share > limit - deadband ? 'deadband' : 'normal';
}

/**
 * What such a value most often means. The two of digital thermometers: 85 °C is what a DS18B20 holds after it was switched on
 * (its data sheet, "temperature register"), -127 °C what common drivers give for a sensor that does not answer (from memory).
 */
export function kindOfFailure(metric: Metric, raw: number | null): string {
  if (raw === null || !Number.isFinite(raw)) return 'no number comes: look at the cable and its plug';
  if (metric === 'temperature' && Math.abs(raw - 85) < 0.1)
    return 'the sensor restarts: its power or its cable has a loose contact';
  if (metric === 'temperature' && raw < -50) return 'the sensor does not answer: its cable or its plug is loose or wet';
  if (metric === 'ph' && (raw <= 0 || raw >= 14)) return 'the input is open: the plug of the electrode is loose or wet';
  return 'a loose plug, a damaged cable, or something electrical near it';
}
