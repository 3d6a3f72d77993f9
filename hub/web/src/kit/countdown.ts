/** `07:30`, or `1:02:05` from an hour on; of what is over, without its sign. */
export function countdown(ms: number): string {
  const seconds = Math.abs(Math.ceil(ms / 1000));
  const [hours, minutes, rest] = [Math.floor(seconds / 3600), Math.floor((seconds % 3600) / 60), seconds % 60];
  const two = (value: number) => String(value).padStart(2, '0');
  return hours > 0 ? `${hours}:${two(minutes)}:${two(rest)}` : `${two(minutes)}:${two(rest)}`;
}
