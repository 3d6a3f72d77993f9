import type { StreamChecks } from './default-checks.ts';
import { grossRangeFlag } from './gross-range.ts';
import type { Quality } from './reading.ts';

export { defaultChecks, type StreamChecks } from './default-checks.ts';

/** What the checks remember of one stream: plain data that survives JSON. Changed in place by `checkReading`. */
export type StreamState = { lastMs: number | null };

export function emptyStreamState(): StreamState {
  return { lastMs: null };
}

/**
 * The quality of a value at the moment it comes; nothing waits for the next one.
 *
 * @param state   owned by this stream, changed in place
 * @param value   in the metric's store unit
 * @param timeMs  UTC milliseconds
 */
export function checkReading(checks: StreamChecks, state: StreamState, value: number, timeMs: number): Quality {
  state.lastMs = timeMs;
  const range = grossRangeFlag(value, checks);
  if (range === 'fail') return { flag: 'fail', raw: value, why: 'outside what the probe or the water can give' };
  if (range === 'suspect') return { flag: 'suspect', value, why: 'outside what a reef tank shows' };
  return { flag: 'pass', value };
}
