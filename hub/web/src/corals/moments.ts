import { offsetMs } from '../kit/times.ts';

/** UTC instant of what `datetime-local` holds, by the clock of the site; undefined for what is no time. */
export function instantOf(wall: string, zone: string): string | undefined {
  const asUtcMs = Date.parse(`${wall}Z`);
  if (Number.isNaN(asUtcMs)) return undefined;
  // Twice: across a change of daylight saving the first guess may use the offset of the other side.
  const guess = asUtcMs - offsetMs(asUtcMs, zone);
  return new Date(asUtcMs - offsetMs(guess, zone)).toISOString();
}

/** The same backwards, to the minute: what `datetime-local` shows. */
export function wallOf(timeMs: number, zone: string): string {
  return new Date(timeMs + offsetMs(timeMs, zone)).toISOString().slice(0, 16);
}
