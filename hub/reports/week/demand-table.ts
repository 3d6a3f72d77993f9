import type { ReviewFigures } from '../../model/answers/review-schema.ts';
import { localTimeText } from '../../model/calendar/iso-week.ts';
import type { Cell } from './daily-table.ts';

/** What is used is in the unit of the `unit` column a day. */
const columns = ['time', 'system', 'analyte', 'unit', 'demand_per_day', 'demand_low95', 'demand_high95', 'arrivals'];

/**
 * What the corals of each system use, as the review of the week has it: a row at the begin of the week and at each midnight since the
 * second test, with the corals that arrived since the row before.
 *
 * @returns the header first
 */
export function demandTable({ demand, corals, timezone, asOfMs, isOver }: ReviewFigures): Cell[][] {
  // Of a week that runs the last figure is that of this moment, and another a moment later.
  const isMidnight = (timeMs: number): boolean => isOver || timeMs < asOfMs;
  const rows = demand.flatMap(({ system, metric, unit, decimals, days }) =>
    days
      .filter((day) => isMidnight(day.timeMs))
      .map(({ timeMs, perDay, low95, high95 }, index): Cell[] => {
        const sinceMs = days[index - 1]?.timeMs ?? timeMs;
        const arrived = corals.arrivals.filter(
          (each) => each.system === system && each.timeMs >= sinceMs && each.timeMs < timeMs,
        );
        return [
          ...[localTimeText(timeMs, timezone), system, metric, unit],
          // Two digits more than a screen shows, as in the daily figures.
          ...[perDay, low95, high95].map((value) => Number(value.toFixed(decimals + 2))),
          arrived.map(({ name }) => name).join('; '),
        ];
      }),
  );
  return [columns, ...rows];
}
