import type { Observation } from '#adapters/ports/observation.ts';
import type { Series } from '#rules/quality/reading.ts';

/** A stated time may be so far ahead of the hub's clock and still be believed: two clocks never agree to the second. */
const aheadMostMs = 60_000;

/** How readings get their time where the clock may be unset or stepped; the usual way without it. */
export type Dating = {
  /** False while nobody knows the time. */
  isClockTrusted(): boolean;
  /** The moment for a reading that is dated by its arrival: one at which its series has none yet. */
  freeMs(series: Series, receivedMs: number): number;
};

const usualDating: Dating = { isClockTrusted: () => true, freeMs: (_series, receivedMs) => receivedMs };

/**
 * Stage "time": when the reading was taken. The payload's own time is preferred; one in the future is refused, because
 * a reading dated tomorrow would hide every reading until then. A retained message without a time of its own has none.
 * While the hub's clock is not set it is behind, and cannot tell the future: the arrival counts then.
 */
export function timeOf(observation: Observation, series: Series, dating: Dating = usualDating): number | undefined {
  const { statedMs, receivedMs } = observation;
  if (statedMs !== undefined) {
    if (statedMs <= receivedMs + aheadMostMs) return statedMs;
    if (dating.isClockTrusted()) return undefined;
  }
  return observation.isRetained === true ? undefined : dating.freeMs(series, receivedMs);
}
