import type { SystemConfig } from '../../model/config/schema.ts';
import { type NewEntry, ofKind } from '../../model/journal/journal.ts';
import { planSegments } from './standing-plan.ts';

const dayMs = 86_400_000;
/** Use over so many days gives the days left. */
const usedOverDays = 7;

export type Container = { stock: string; leftMl: number; daysLeft: number | null };

/** Millilitres of a stock that were given in a span, by entered doses and by the plan. */
function usedMl(
  system: SystemConfig,
  stock: string,
  entries: readonly NewEntry[],
  fromMs: number,
  toMs: number,
): number {
  const entered = ofKind(entries, 'dose')
    .filter((entry) => entry.body.stock === stock)
    .filter((entry) => entry.timeMs > fromMs && entry.timeMs <= toMs)
    .reduce((sum, entry) => sum + (entry.body.ml ?? 0), 0);
  const planned = planSegments(system, entries, toMs)
    .filter((segment) => segment.stock === stock)
    .reduce((sum, segment) => {
      const overlapMs = Math.min(segment.toMs, toMs) - Math.max(segment.fromMs, fromMs);
      return overlapMs > 0 ? sum + (segment.mlPerDay * overlapMs) / dayMs : sum;
    }, 0);
  return entered + planned;
}

/**
 * How full the containers are by what was given since their last refill. A container that nobody ever filled is not
 * known and is left out.
 *
 * @param entries  of the system, any kind, any order
 */
export function containersOf(system: SystemConfig, entries: readonly NewEntry[], nowMs: number): Container[] {
  return system.stocks.flatMap(({ id: stock, container_ml }) => {
    const refill = ofKind(entries, 'refill')
      .filter((entry) => entry.body.stock === stock && entry.timeMs <= nowMs)
      .reduce<NewEntry<'refill'> | undefined>(
        (last, entry) => (last !== undefined && last.timeMs >= entry.timeMs ? last : entry),
        undefined,
      );
    const filledMl = refill?.body.ml ?? container_ml;
    if (refill === undefined || filledMl === undefined) return [];
    const leftMl = Math.max(0, filledMl - usedMl(system, stock, entries, refill.timeMs, nowMs));
    const perDay = usedMl(system, stock, entries, nowMs - usedOverDays * dayMs, nowMs) / usedOverDays;
    return [{ stock, leftMl, daysLeft: perDay > 0 ? leftMl / perDay : null }];
  });
}
