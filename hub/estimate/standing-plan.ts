import type { JournalEntry } from '#adapters/ports/store.ts';
import type { SystemConfig } from '../config/schema.ts';

/** A stock given every day in equal doses, from a time until the next change. */
export type PlanSegment = { stock: string; fromMs: number; toMs: number; mlPerDay: number; timesPerDay: number };

/**
 * The standing plan over time: that of the configuration until a person changes it, then what was entered. A plan is
 * taken as carried out until told otherwise; 0 mL a day ends it.
 *
 * @param entries  of the system, any kind, any order
 */
export function planSegments(system: SystemConfig, entries: readonly JournalEntry[], nowMs: number): PlanSegment[] {
  const stocks = new Set([
    ...system.standing_plan.map((plan) => plan.stock),
    ...entries.filter((entry) => entry.kind === 'plan').map((entry) => String(entry.body['stock'])),
  ]);
  return [...stocks].flatMap((stock) => {
    const configured = system.standing_plan.filter((plan) => plan.stock === stock);
    const first: PlanSegment = {
      stock,
      fromMs: Number.NEGATIVE_INFINITY,
      toMs: nowMs,
      mlPerDay: configured.reduce((sum, plan) => sum + plan.ml_per_day, 0),
      timesPerDay: configured[0]?.times_per_day ?? 1,
    };
    const changes = entries
      .filter((entry) => entry.kind === 'plan' && entry.body['stock'] === stock && entry.timeMs <= nowMs)
      .sort((a, b) => a.timeMs - b.timeMs)
      .map(({ timeMs, body }) => ({
        ...{ stock, fromMs: timeMs, toMs: nowMs },
        mlPerDay: Number(body['ml_per_day']),
        timesPerDay: Number(body['times_per_day'] ?? first.timesPerDay),
      }));
    const segments = [first, ...changes];
    return segments
      .map((segment, index) => ({ ...segment, toMs: segments[index + 1]?.fromMs ?? nowMs }))
      .filter((segment) => segment.toMs > segment.fromMs || segment === segments.at(-1));
  });
}

/** What the plan gives of each stock now, mL a day; stocks that are not given are left out. */
export function planNow(
  system: SystemConfig,
  entries: readonly JournalEntry[],
  nowMs: number,
): { stock: string; mlPerDay: number; timesPerDay: number }[] {
  const latest = new Map(planSegments(system, entries, nowMs).map((segment) => [segment.stock, segment]));
  return [...latest.values()]
    .filter(({ mlPerDay }) => mlPerDay > 0)
    .map(({ stock, mlPerDay, timesPerDay }) => ({ stock, mlPerDay, timesPerDay }));
}
