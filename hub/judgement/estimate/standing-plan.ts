import type { SystemConfig } from '../../model/config/schema.ts';
import { standingPlanOf } from '../../model/config/stock-strength.ts';
import { type SystemOverTime, spansOf } from '../../model/config/system-at.ts';
import { type NewEntry, ofKind } from '../../model/journal/journal.ts';

/** A stock given every day in equal doses, from a time until the next change. */
export type PlanSegment = { stock: string; fromMs: number; toMs: number; mlPerDay: number; timesPerDay: number };

/**
 * The standing plan over time: that of the configuration, as it was at each time, until a person changes it, then what was entered. A
 * plan is taken as carried out until told otherwise; 0 mL a day ends it, and an entry marked `configured` goes back to what the
 * configuration says.
 *
 * @param entries  of the system, any kind, any order
 */
export function planSegments(system: SystemOverTime, entries: readonly NewEntry[], nowMs: number): PlanSegment[] {
  const changesOfPlan = ofKind(entries, 'plan').filter(({ timeMs }) => timeMs <= nowMs);
  const stocks = new Set([
    ...[system, ...(system.past ?? []).map((held) => held.system)].flatMap((each) =>
      standingPlanOf(each).map((plan) => plan.stock),
    ),
    ...changesOfPlan.map(({ body }) => body.stock),
  ]);
  return [...stocks].flatMap((stock) => {
    const configured = configuredSegments(system, stock, nowMs);
    const changes = changesOfPlan.filter(({ body }) => body.stock === stock).sort((a, b) => a.timeMs - b.timeMs);
    const segments = [
      ...within(configured, Number.NEGATIVE_INFINITY, changes[0]?.timeMs ?? nowMs),
      ...changes.flatMap(({ timeMs, body }, index) => {
        const toMs = changes[index + 1]?.timeMs ?? nowMs;
        if (body.configured) return within(configured, timeMs, toMs);
        const timesPerDay = body.times_per_day ?? configured.at(-1)?.timesPerDay ?? 1;
        return [{ stock, fromMs: timeMs, toMs, mlPerDay: body.ml_per_day, timesPerDay }];
      }),
    ];
    return segments.filter((segment) => segment.toMs > segment.fromMs || segment === segments.at(-1));
  });
}

/** What the configuration said of a stock over all time, the last part until now. */
function configuredSegments(system: SystemOverTime, stock: string, nowMs: number): PlanSegment[] {
  const parts: PlanSegment[] = [];
  for (const { fromMs, toMs, system: held } of spansOf(system, Number.NEGATIVE_INFINITY, nowMs)) {
    const plans = standingPlanOf(held).filter((plan) => plan.stock === stock);
    const mlPerDay = plans.reduce((sum, plan) => sum + plan.ml_per_day, 0);
    const last = parts.at(-1);
    // A changed volume is no change of the plan: nobody looked at the pump for it.
    if (last?.mlPerDay === mlPerDay) last.toMs = toMs;
    else parts.push({ stock, fromMs, toMs, mlPerDay, timesPerDay: 1 });
  }
  const ofNow = standingPlanOf(system).find((plan) => plan.stock === stock);
  const last = parts.at(-1);
  if (last !== undefined) last.timesPerDay = ofNow?.times_per_day ?? 1;
  return parts;
}

/** The parts that lie in a span, cut at its ends; the last of them even where the span is empty. */
function within(parts: readonly PlanSegment[], fromMs: number, toMs: number): PlanSegment[] {
  return parts
    .map((part) => ({ ...part, fromMs: Math.max(part.fromMs, fromMs), toMs: Math.min(part.toMs, toMs) }))
    .filter((part, index) => part.toMs > part.fromMs || (fromMs >= toMs && index === parts.length - 1));
}

/** What the plan gives of each stock now, mL a day; stocks that are not given are left out. */
export function planNow(
  system: SystemConfig,
  entries: readonly NewEntry[],
  nowMs: number,
): { stock: string; mlPerDay: number; timesPerDay: number }[] {
  const latest = new Map(planSegments(system, entries, nowMs).map((segment) => [segment.stock, segment]));
  return [...latest.values()]
    .filter(({ mlPerDay }) => mlPerDay > 0)
    .map(({ stock, mlPerDay, timesPerDay }) => ({ stock, mlPerDay, timesPerDay }));
}

/**
 * When somebody last showed that the dosing was looked at: a refill, or a plan that was entered again as it was. A plan that was changed
 * shows only that advice was followed. Undefined where neither happened.
 *
 * @param entries  of the system, any kind, any order
 */
export function planSeenMs(
  system: SystemConfig,
  entries: readonly NewEntry[],
  stocks: readonly string[],
  nowMs: number,
): number | undefined {
  const refills = ofKind(entries, 'refill')
    .filter(({ body, timeMs }) => stocks.includes(body.stock) && timeMs <= nowMs)
    .map(({ timeMs }) => timeMs);
  const segments = planSegments(system, entries, nowMs).filter(({ stock }) => stocks.includes(stock));
  const again = segments
    .filter((segment, i) => segments[i - 1]?.stock === segment.stock && segments[i - 1]?.mlPerDay === segment.mlPerDay)
    .map(({ fromMs }) => fromMs);
  const seen = [...refills, ...again];
  return seen.length === 0 ? undefined : Math.max(...seen);
}

/** The plan of a stock as the page shows it: what holds, since when by whose word, and what the configuration says. */
export type PlanView = {
  stock: string;
  name: string;
  mlPerDay: number;
  timesPerDay: number;
  configured: { mlPerDay: number; timesPerDay: number };
  /** When a person changed it last, UTC milliseconds; null while the configuration holds. */
  changedMs: number | null;
};

/**
 * @param entries  of the system, any kind, any order
 */
export function plansOf(system: SystemConfig, entries: readonly NewEntry[], nowMs: number): PlanView[] {
  const own = ofKind(entries, 'plan');
  const latest = new Map(planSegments(system, own, nowMs).map((segment) => [segment.stock, segment]));
  const configured = new Map(planSegments(system, [], nowMs).map((segment) => [segment.stock, segment]));
  return system.stocks.flatMap(({ id, name }): PlanView[] => {
    const now = latest.get(id);
    if (now === undefined) return [];
    const { mlPerDay = 0, timesPerDay = 1 } = configured.get(id) ?? {};
    const change = own
      .filter(({ body, timeMs }) => body.stock === id && timeMs <= nowMs)
      .reduce<NewEntry<'plan'> | undefined>((a, b) => (a === undefined || b.timeMs >= a.timeMs ? b : a), undefined);
    const isChanged = change !== undefined && change.body.configured !== true;
    return [
      {
        stock: id,
        name,
        mlPerDay: now.mlPerDay,
        timesPerDay: now.timesPerDay,
        configured: { mlPerDay, timesPerDay },
        changedMs: isChanged ? change.timeMs : null,
      },
    ];
  });
}
