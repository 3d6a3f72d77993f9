/**
 * How far a metric has moved within the last hour, from five-minute medians. An alarm comes as soon as the allowed change
 * is used up, not after an hour.
 */

const windowMs = 3_600_000;
/** A bucket every five minutes fills an hour. */
const mostPoints = 13;

export type LastHour = { values: number[]; timesMs: number[] };

export function emptyLastHour(): LastHour {
  return { values: [], timesMs: [] };
}

/**
 * Takes a median.
 *
 * @param timeMs  UTC milliseconds, rising
 * @returns the change, with its sign, from the value of the last hour that lies furthest from this one; 0 for the first
 */
export function moveWithinHour(hour: LastHour, value: number, timeMs: number): number {
  const { values, timesMs } = hour;
  while (timesMs.length > 0 && (timeMs - timesMs[0]! > windowMs || timesMs.length >= mostPoints)) {
    values.shift();
    timesMs.shift();
  }
  let move = 0;
  for (const earlier of values) {
    const change = value - earlier;
    if (Math.abs(change) > Math.abs(move)) move = change;
  }
  values.push(value);
  timesMs.push(timeMs);
  return move;
}
