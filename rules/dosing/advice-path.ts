import type { Forecast } from '../trend/forecast.ts';
import { daysAhead } from './advice-facts.ts';
import type { PathPoint } from './advice-types.ts';

/** One point a day of a forecast over `daysAhead` days. */
export function pathOf(forecast: Forecast): PathPoint[] {
  const each = (forecast.points.length - 1) / daysAhead;
  return forecast.points
    .filter((_, i) => i % each === 0)
    .map(({ timeMs, level, low95, high95 }) => ({ timeMs, level, low95, high95 }));
}
