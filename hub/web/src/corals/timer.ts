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

/** Once a minute for so long the water of a dip is moved, so that it reaches what hides. Common practice, no published source. */
const swirlEveryMs = 60_000;
const swirlMs = 15_000;

/** What hands do while pieces soak; undefined in the last minute, when they are dried, and afterwards. */
export function swirlPrompt(timer: Timer, nowMs: number): string | undefined {
  if (phaseOf(timer, nowMs) !== 'runs') return undefined;
  const ranMs = Math.max(0, nowMs - Date.parse(timer.started));
  return ranMs % swirlEveryMs < swirlMs ? 'Swirl the water gently now' : 'Let it rest until the next minute';
}
