import type { Store } from '#adapters/ports/store.ts';
import { type PestPlan, type PestTask, pestPlan } from '#rules/arrivals/pest-plan.ts';
import type { Pest } from '#rules/arrivals/pests.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { OutOfRange } from '#rules/quantity/out-of-range.ts';
import { spokenDate } from '../../model/calendar/local-day.ts';
import type { SystemConfig } from '../../model/config/schema.ts';
import type { Arrival } from './arrivals-state.ts';
import { warmthOf } from './daily-temperatures.ts';

export type PestWatch = {
  pest: string;
  lookFor: string;
  source: string;
  /** Absent before the first dip of a pest that is dipped for, and while no temperature is known. */
  plan?: PestPlan;
  /** Days with a measured temperature that the plan rests on, and their mean. */
  daysMeasured: number;
  meanMeasured_C?: number;
  text: string;
};

/**
 * Inspections and repeat dips by the pest's biology and the temperature that the hub measured, made again at each asking: the
 * dates move as the real temperature comes in. Without a pest in sight the watch counts from the arrival.
 */
export function pestWatch(
  store: Pick<Store, 'series' | 'summaries'>,
  system: SystemConfig,
  arrival: Arrival,
  pest: Pest,
  nowMs: number,
  timezone: string,
): PestWatch | undefined {
  const { arrivedMs } = arrival;
  if (arrivedMs === undefined) return undefined;
  const isByEye = pest.repeatDips === 0;
  const facts = { pest: pest.label, lookFor: pest.lookFor, source: pest.source };
  const dipsMs = arrival.dipsMs.length > 0 || !isByEye ? arrival.dipsMs : [arrivedMs];
  if (dipsMs.length === 0)
    return {
      ...facts,
      daysMeasured: 0,
      text: 'No dip is logged yet: dates of repeat dips are counted from the first.',
    };
  const firstMs = Math.min(...dipsMs);
  const warmth = warmthOf(store, system, firstMs - 7 * dayMs, nowMs);
  const measured = warmth.measured.filter(({ startMs }) => startMs + dayMs > firstMs);
  const mean = measured.reduce((sum, { temperature_C }) => sum + temperature_C, 0) / measured.length;
  const seen = { daysMeasured: measured.length, ...(measured.length === 0 ? {} : { meanMeasured_C: mean }) };
  try {
    const inspectionsMs = arrival.inspections.map(({ timeMs }) => timeMs);
    // By days alone no temperature is asked for.
    const known = pest.window.kind === 'days' && measured.length === 0 ? { ...warmth, expected_C: 25 } : warmth;
    const last = arrival.inspections.toSorted((one, other) => one.timeMs - other.timeMs).at(-1);
    const again = defined({ lookAgainMs: last?.lookAgainMs });
    const plan = pestPlan({ pest, dipsMs, inspectionsMs, ...again, warmth: known, nowMs });
    const tasks = arrival.dipsMs.length > 0 ? plan.tasks : plan.tasks.filter(({ kind }) => kind === 'inspection');
    return { ...facts, plan: { ...plan, tasks }, ...seen, text: textOf(tasks, nowMs, timezone) };
  } catch (error) {
    if (!(error instanceof OutOfRange)) throw error;
    return { ...facts, ...seen, text: `No dates yet: ${error.message}` };
  }
}

export type NextTasks = { dip?: PestTask; inspection?: PestTask; missed: number };

/** The dip that is still to be done, and the inspection of now: the last one due, since one look makes up for all missed. */
export function nextTasks(tasks: readonly PestTask[], nowMs: number): NextTasks {
  const open = tasks.filter(({ state }) => state !== 'done');
  const dip = open.find(({ kind }) => kind === 'dip');
  const inspections = tasks.filter(({ kind }) => kind === 'inspection');
  const lastDoneMs = Math.max(...inspections.filter(({ state }) => state === 'done').map(({ dueMs }) => dueMs));
  const since = inspections.filter(
    ({ state, dueMs, isLookAgain }) => state !== 'done' && (isLookAgain === true || dueMs > lastDoneMs),
  );
  const overdue = since.filter(({ dueMs }) => dueMs <= nowMs);
  const inspection = overdue.at(-1) ?? since.find(({ dueMs }) => dueMs > nowMs);
  return {
    ...defined({ dip, inspection }),
    missed: Math.max(0, overdue.length - 1),
  };
}

/** @param timezone  of the site: whose days the dates are */
export function dipText({ state, dueMs, opensMs, closesMs }: PestTask, timezone: string): string {
  const day = (timeMs: number) => spokenDate(timeMs, timezone);
  const best = `best on ${day(dueMs)}`;
  const span = opensMs === undefined || closesMs === undefined ? '' : `, between ${day(opensMs)} and ${day(closesMs)}`;
  return `Repeat dip ${state === 'late' ? 'is late' : state}: ${best}${span}.`;
}

export function inspectionText({ dueMs }: PestTask, missed: number, nowMs: number, timezone: string): string {
  const day = spokenDate(dueMs, timezone);
  if (dueMs > nowMs) return `Inspection on ${day}.`;
  return `Inspection is due since ${day}${missed === 0 ? '' : `, ${missed} before it missed`}.`;
}

function textOf(tasks: readonly PestTask[], nowMs: number, timezone: string): string {
  const { dip, inspection, missed } = nextTasks(tasks, nowMs);
  const said = [
    ...(dip === undefined ? [] : [dipText(dip, timezone)]),
    ...(inspection === undefined ? [] : [inspectionText(inspection, missed, nowMs, timezone)]),
  ];
  return said.length === 0 ? 'The watch is over.' : said.join(' ');
}
