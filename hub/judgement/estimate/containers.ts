import { dayMs } from '#rules/clock/durations.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import { type NewEntry, ofKind } from '../../model/journal/journal.ts';
import { planSegments } from './standing-plan.ts';

/** Use over so many days gives the days left. */
const usedOverDays = 7;

export type Container = { stock: string; leftMl: number; daysLeft: number | null };

/** Of the same moment, what was entered first happened first; a correction stands in the place of what it corrects. */
type Place = { timeMs: number; corrects?: number; id?: number };

function isAfter(one: Place, other: Place): boolean {
  if (one.timeMs !== other.timeMs) return one.timeMs > other.timeMs;
  const placeOf = ({ corrects, id }: Place): number => corrects ?? id ?? Number.POSITIVE_INFINITY;
  return placeOf(one) >= placeOf(other);
}

/** Millilitres of a stock that were given after a moment and until a time, by entered doses and by the plan. */
function usedMl(system: SystemConfig, stock: string, entries: readonly NewEntry[], from: Place, toMs: number): number {
  const fromMs = from.timeMs;
  const entered = ofKind(entries, 'dose')
    .filter((entry) => entry.body.stock === stock)
    .filter((entry) => isAfter(entry, from) && entry.timeMs <= toMs)
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
        (last, entry) => (last === undefined || isAfter(entry, last) ? entry : last),
        undefined,
      );
    const filledMl = refill?.body.ml ?? container_ml;
    if (refill === undefined || filledMl === undefined) return [];
    const leftMl = Math.max(0, filledMl - usedMl(system, stock, entries, refill, nowMs));
    const perDay = usedMl(system, stock, entries, { timeMs: nowMs - usedOverDays * dayMs }, nowMs) / usedOverDays;
    return [{ stock, leftMl, daysLeft: perDay > 0 ? leftMl / perDay : null }];
  });
}
