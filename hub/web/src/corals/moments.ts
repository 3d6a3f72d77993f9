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

/** `07:30`, or `1:02:05` from an hour on; of what is over, without its sign. */
export function clockText(ms: number): string {
  const seconds = Math.abs(Math.ceil(ms / 1000));
  const [hours, minutes, rest] = [Math.floor(seconds / 3600), Math.floor((seconds % 3600) / 60), seconds % 60];
  const two = (value: number) => String(value).padStart(2, '0');
  return hours > 0 ? `${hours}:${two(minutes)}:${two(rest)}` : `${two(minutes)}:${two(rest)}`;
}
