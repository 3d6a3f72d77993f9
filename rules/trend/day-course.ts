/** A value at a time, oldest first where there are many. */
export type Dated = { timeMs: number; value: number };

/** Mean, lowest and highest of one hour of the day over the days looked at. */
export type HourOfDay = { hour: number; mean: number; low: number; high: number; count: number };

/** Hours of the day with a value, earliest first. */
export type DayCourse = readonly HourOfDay[];

/** Hours of a day. Exact. */
const hours = 24;

/**
 * What a metric does in the course of a usual day.
 *
 * @param hourOf  local hour of the day of a time, 0 to 23
 */
export function dayCourse(values: readonly Dated[], hourOf: (timeMs: number) => number): DayCourse {
  const found = Array.from({ length: hours }, (_, hour) => ({ hour, all: [] as number[] }));
  for (const { timeMs, value } of values) found[hourOf(timeMs)]?.all.push(value);
  return found.flatMap(({ hour, all }) =>
    all.length === 0
      ? []
      : [
          {
            hour,
            mean: all.reduce((a, b) => a + b, 0) / all.length,
            count: all.length,
            low: Math.min(...all),
            high: Math.max(...all),
          },
        ],
  );
}
