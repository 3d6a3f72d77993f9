import type { Observation } from '#adapters/ports/observation.ts';

/** A stated time may be so far ahead of the hub's clock and still be believed: two clocks never agree to the second. */
const aheadMostMs = 60_000;

/**
 * Stage "time": when the reading was taken. The payload's own time is preferred; one in the future is refused, because
 * a reading dated tomorrow would hide every reading until then. A retained message without a time of its own has none.
 */
export function timeOf(observation: Observation): number | undefined {
  if (observation.statedMs !== undefined) {
    return observation.statedMs > observation.receivedMs + aheadMostMs ? undefined : observation.statedMs;
  }
  return observation.isRetained === true ? undefined : observation.receivedMs;
}
