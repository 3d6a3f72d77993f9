import type { Store } from '#adapters/ports/store.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { dayMs } from '#rules/clock/durations.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import { localDate } from '../../model/calendar/local-day.ts';
import type { Config } from '../../model/config/schema.ts';
import { readJournal } from '../../model/journal/journal.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { ArrivalsMemory } from './arrivals-memory.ts';
import { type Arrival, withArrival } from './arrivals-state.ts';
import { type DemandOfBatch, demandOfBatch, demandWatchDays } from './demand-watch.ts';
import { type Pests, pestById } from './pest-file.ts';
import { type PestWatch, pestWatch } from './pest-watch.ts';
import { areRemindersDue, type Reminder, remindersOf } from './reminders.ts';

export type CareParts = {
  config: Config;
  store: Pick<Store, 'journal' | 'series' | 'summaries'>;
  memory: ArrivalsMemory;
  pests: Pests;
  demandAt(system: string, timeMs: number): DemandEstimate | undefined;
  remind(reminder: Reminder, nowMs: number): void;
  units(): KeepersUnits;
};

export type Care = {
  pestWatch(arrival: Arrival, nowMs: number): PestWatch | undefined;
  demand(arrival: Arrival, nowMs: number): DemandOfBatch | undefined;
  /** Says the day's work once a day. */
  tick(nowMs: number): void;
};

/** The weeks after an arrival: pests, light and what the corals use. */
export function createCare({ config, store, memory, pests, demandAt, remind, units }: CareParts): Care {
  const { timezone } = config.site;
  let lastMinute = Number.NaN;

  function alkalinityTestsMs(system: string, fromMs: number, nowMs: number): number[] {
    return readJournal(store, { kind: 'test', system, fromMs, toMs: nowMs + 1 })
      .filter(({ body }) => body.analyte === 'alkalinity')
      .map(({ timeMs }) => timeMs);
  }

  function demand(arrival: Arrival, nowMs: number): DemandOfBatch | undefined {
    const { arrivedMs, system, id } = arrival;
    if (arrivedMs === undefined) return undefined;
    const spanMs = demandWatchDays * dayMs;
    const others = memory
      .state()
      .arrivals.filter((each) => each.id !== id && each.system === system && each.arrivedMs !== undefined)
      .filter((each) => Math.abs((each.arrivedMs ?? 0) - arrivedMs) < spanMs && (each.arrivedMs ?? 0) <= nowMs)
      .map(({ name }) => name);
    const tests = alkalinityTestsMs(system, arrivedMs, nowMs);
    return demandOfBatch(arrival, (timeMs) => demandAt(system, timeMs), tests, others, nowMs, units());
  }

  function remindOf(arrival: Arrival, nowMs: number): void {
    const tests = alkalinityTestsMs(arrival.system, nowMs - 2 * dayMs, nowMs);
    const care = { pest: watch(arrival, nowMs), demand: demand(arrival, nowMs), alkalinityTestsMs: tests };
    const isDemandReported = arrival.isDemandReported || care.demand?.isOver === true;
    try {
      // Said before it is noted: a crash between the two repeats a line, which its key tells, and forgets none.
      for (const reminder of remindersOf(arrival, care, nowMs, timezone)) remind(reminder, nowMs);
    } finally {
      // Also when the disk refuses: else the same line would be said every second.
      const noted = { ...arrival, remindedOn: localDate(nowMs, timezone), isDemandReported };
      memory.keepOrSay(withArrival(memory.state(), noted), {});
    }
  }

  function watch(arrival: Arrival, nowMs: number): PestWatch | undefined {
    const system = config.systems.find(({ id }) => id === arrival.system);
    if (system === undefined) throw new Refused('unknown_system', `${arrival.system} is no longer configured`);
    return pestWatch(store, system, arrival, pestById(pests, arrival.pest), nowMs, timezone);
  }

  return {
    pestWatch: watch,
    demand,
    tick(nowMs) {
      // Wall-clock dates are dear, and reminders are not in a hurry.
      const minute = Math.floor(nowMs / 60_000);
      if (minute === lastMinute) return;
      lastMinute = minute;
      const due = memory.state().arrivals.filter((arrival) => areRemindersDue(arrival, nowMs, timezone));
      for (const arrival of due) if (config.systems.some(({ id }) => id === arrival.system)) remindOf(arrival, nowMs);
    },
  };
}
