import type { RunAnswer } from '../../../api/runs.ts';

export type Timer = NonNullable<RunAnswer['timer']>;

/** Where a timer stands: the hands are dried in the last minute of a soak, and the maximum is the end of all patience. */
export type Phase = 'runs' | 'soon' | 'over' | 'maximum';

const soonMs = 60_000;

export function phaseOf({ started, ends, maximum }: Timer, nowMs: number): Phase {
  const endsMs = Date.parse(ends);
  if (maximum !== null && nowMs >= Date.parse(maximum)) return 'maximum';
  if (nowMs >= endsMs) return 'over';
  // A timer of less than three minutes would stand on "soon" for most of its time.
  const isLong = endsMs - Date.parse(started) >= 3 * soonMs;
  return maximum !== null && isLong && nowMs >= endsMs - soonMs ? 'soon' : 'runs';
}
