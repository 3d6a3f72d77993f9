import type { Store } from '#adapters/ports/store.ts';
import type { DayTemperature, Warmth } from '#rules/arrivals/degree-days.ts';
import { dayMs } from '#rules/clock/durations.ts';
import type { SystemConfig } from '../../model/config/schema.ts';

/** A day with fewer hours of readings than this says little of the whole. */
const leastHours = 4;
/** Outside this a mean is a probe in air or ice, not a tank. */
const [coldest_C, warmest_C] = [5, 40];

/**
 * What the probes of a system measured, as a mean for each UTC day of [fromMs, nowMs]; the day that is not over yet counts with
 * what it has. Nothing measured: the middle of the band is expected.
 */
export function warmthOf(
  store: Pick<Store, 'series' | 'summaries'>,
  system: SystemConfig,
  fromMs: number,
  nowMs: number,
): Warmth {
  const days = new Map<number, { sum: number; hours: number }>();
  const startMs = Math.floor(fromMs / dayMs) * dayMs;
  for (const series of store.series()) {
    if (series.system !== system.id || series.metric !== 'temperature') continue;
    for (const hour of store.summaries(series, 'hour', startMs, nowMs + 1)) {
      if (hour.count === 0 || !(hour.mean >= coldest_C && hour.mean <= warmest_C)) continue;
      const day = Math.floor(hour.startMs / dayMs) * dayMs;
      const { sum, hours } = days.get(day) ?? { sum: 0, hours: 0 };
      days.set(day, { sum: sum + hour.mean, hours: hours + 1 });
    }
  }
  const measured = [...days].flatMap(([startMs, { sum, hours }]): DayTemperature[] =>
    hours >= leastHours ? [{ startMs, temperature_C: sum / hours }] : [],
  );
  const band = system.bands.temperature;
  if (measured.length > 0 || band === undefined) return { measured };
  return { measured, expected_C: (band.low + band.high) / 2 };
}
