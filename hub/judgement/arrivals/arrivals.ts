import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { Config } from '../../model/config/schema.ts';
import type { ArrivalEntry, LightEntry, SeenEntry } from '../../model/entries/arrival-schemas.ts';
import type { Entry } from '../../model/journal/journal.ts';
import { happenedMs } from '../../model/refusals/happened.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { ArrivalsMemory } from './arrivals-memory.ts';
import {
  type Arrival,
  type ArrivalsState,
  againMark,
  mostArrivals,
  mostOfArrival,
  withArrival,
} from './arrivals-state.ts';
import { dayOfPlan, type LightWithin, lightFrom, relaid } from './light-of-arrival.ts';
import { checkPest, type Pests } from './pest-file.ts';
import type { RunningChecklists } from './running-checklists.ts';
import { createTakingBack, endRuns } from './taking-back.ts';

export type Arrivals = {
  /** Expected, or here already. */
  plan(entry: ArrivalEntry, nowMs: number): Arrival;
  arrived(id: string, time: string | undefined, nowMs: number): Arrival;
  /** Its care ends; its runs go. */
  close(id: string, nowMs: number): Arrival;
  /** @throws Refused soak_runs  while pieces of it are in a dip bath */
  remove(id: string, nowMs: number): void;
  keepWater(id: string, water: NonNullable<Arrival['water']>): Arrival;
  /** @throws Refused unknown_pest */
  setPest(id: string, pest: string): Arrival;
  dipped(id: string, time: string | undefined, nowMs: number): Arrival;
  /** @param seen  with `look_again_days` a further inspection is due so long after this one */
  inspected(id: string, seen: SeenEntry, nowMs: number): Arrival;
  /** A dip, or an inspection, of this time never was. @throws Refused unknown_entry */
  takeBackDip(id: string, time: string, nowMs: number): Arrival;
  takeBackInspection(id: string, time: string, nowMs: number): Arrival;
  /**
   * An entry of the journal about an arrival is taken back with all that is known by it.
   *
   * @returns the id of the entry that says so; undefined when nothing but the journal knows of it
   * @throws Refused soak_runs, not_now
   */
  takeBackEntry(entry: Entry<'arrival'>, by: string, nowMs: number): number | undefined;
  /** @param days  kept apart after they came; 0 ends it */
  setQuarantine(id: string, days: number): Arrival;
  layLight(id: string, entry: LightEntry, nowMs: number): Arrival;
  changeLight(id: string, change: LightWithin, nowMs: number): Arrival;
  /** The rack was set to the height of today. */
  lightMoved(id: string, nowMs: number): Arrival;
  /** @throws Refused unknown_arrival */
  find(id: string): Arrival;
  all(): readonly Arrival[];
};

export type ArrivalParts = {
  config: Config;
  store: Pick<Store, 'journal'>;
  memory: ArrivalsMemory;
  checklists: RunningChecklists;
  pests: Pests;
  /** The journal has an arrival more, or one less: whoever estimates should look again. */
  learned(system: string, timeMs: number): void;
};

/** New corals from the day they are expected until their care ends. */
export function createArrivals({ config, store, memory, checklists, pests, learned }: ArrivalParts): Arrivals {
  const { timezone } = config.site;

  function find(id: string): Arrival {
    const arrival = memory.state().arrivals.find((each) => each.id === id);
    if (arrival === undefined) throw new Refused('unknown_arrival', `there is no arrival "${id}"`);
    return arrival;
  }

  function here(id: string): Arrival {
    const arrival = find(id);
    if (arrival.state === 'expected')
      throw new Refused('not_arrived', `${id} is expected and not here yet: log its arrival first`);
    return arrival;
  }

  function change(arrival: Arrival): Arrival {
    memory.keep(withArrival(memory.state(), arrival));
    return arrival;
  }

  /** The journal entry tells the demand filter; it is stored with the state that it belongs to. */
  function logArrived(arrival: Arrival, timeMs: number, state: ArrivalsState, nowMs: number): Arrival {
    const { id, system, name, pieces, createdMs } = arrival;
    const body = { event: 'arrived' as const, arrival: id, name, pieces };
    const changed: Arrival = { ...arrival, state: 'arrived', arrivedMs: timeMs };
    const next = { ...state, arrivals: [...state.arrivals.filter((each) => each.id !== id), changed] };
    const key = `arrived:${id}#${createdMs}${againMark(arrival)}`;
    memory.keep(next, { entries: [{ kind: 'arrival', timeMs, recordedMs: nowMs, system, body, key }] });
    learned(system, timeMs);
    return changed;
  }

  const takingBack = createTakingBack({ store, memory, checklists, find, learned });

  return {
    find,
    all: () => memory.state().arrivals,
    plan(entry, nowMs) {
      if (!config.systems.some(({ id }) => id === entry.system)) throw noSystem(entry.system, config.systems);
      const state = memory.state();
      const repeated = entry.key === undefined ? undefined : state.arrivals.find((each) => each.key === entry.key);
      if (repeated !== undefined) return repeated;
      checkPest(pests, entry.pest);
      const arrivedMs = entry.arrived === undefined ? undefined : happenedMs(entry.arrived, nowMs);
      const arrival: Arrival = {
        id: `a${state.nextArrival}`,
        system: entry.system,
        name: entry.name,
        state: 'expected',
        createdMs: nowMs,
        pest: entry.pest,
        dipsMs: [],
        inspections: [],
        isDemandReported: false,
        pieces: entry.pieces.map(({ kind, count, longest_cm }) => ({
          kind,
          count,
          ...defined({ longest_cm }),
        })),
        ...defined({ key: entry.key, source: entry.source }),
        ...(entry.expected === undefined ? {} : { expectedMs: Date.parse(entry.expected) }),
      };
      const next = { ...roomFor(state), nextArrival: state.nextArrival + 1 };
      if (arrivedMs !== undefined) return logArrived(arrival, arrivedMs, next, nowMs);
      const body = { event: 'expected' as const, arrival: arrival.id, name: arrival.name, pieces: arrival.pieces };
      const entries = [{ kind: 'arrival' as const, timeMs: nowMs, recordedMs: nowMs, system: arrival.system, body }];
      memory.keep({ ...next, arrivals: [...next.arrivals, arrival] }, { entries });
      return arrival;
    },
    arrived(id, time, nowMs) {
      const arrival = find(id);
      if (arrival.state !== 'expected') return arrival;
      return logArrived(arrival, happenedMs(time, nowMs), memory.state(), nowMs);
    },
    close(id, nowMs) {
      find(id);
      endRuns({ memory, checklists }, id, nowMs);
      return change({ ...find(id), state: 'closed' });
    },
    remove: takingBack.remove,
    keepWater: (id, water) => change({ ...find(id), water }),
    setPest(id, pest) {
      checkPest(pests, pest);
      return change({ ...find(id), pest });
    },
    dipped(id, time, nowMs) {
      const arrival = here(id);
      checkRoomIn(arrival.dipsMs, 'dips');
      return change({ ...arrival, dipsMs: [...arrival.dipsMs, happenedMs(time, nowMs)] });
    },
    inspected(id, { findings, time, look_again_days: againDays }, nowMs) {
      const arrival = here(id);
      checkRoomIn(arrival.inspections, 'inspections');
      const timeMs = happenedMs(time, nowMs);
      const { system } = arrival;
      const body = { event: 'inspected' as const, arrival: id, findings };
      const again = againDays === undefined ? {} : { lookAgainMs: timeMs + againDays * dayMs };
      const next = withArrival(memory.state(), {
        ...arrival,
        inspections: [...arrival.inspections, { timeMs, findings, ...again }],
      });
      memory.keep(next, { entries: [{ kind: 'arrival', timeMs, recordedMs: nowMs, system, body }] });
      return find(id);
    },
    takeBackDip: takingBack.dip,
    takeBackInspection: takingBack.inspection,
    takeBackEntry: takingBack.entry,
    setQuarantine(id, days) {
      const { quarantineDays: _before, ...arrival } = find(id);
      return change(days === 0 ? arrival : { ...arrival, quarantineDays: days });
    },
    layLight: (id, entry, nowMs) => change({ ...find(id), light: lightFrom(entry, nowMs, timezone) }),
    changeLight(id, asked, nowMs) {
      const arrival = find(id);
      if (arrival.light === undefined) throw new Refused('no_light_plan', `${id} has no light plan`);
      return change({ ...arrival, light: relaid(arrival.light, asked, nowMs, timezone) });
    },
    lightMoved(id, nowMs) {
      const arrival = find(id);
      const { light, system } = arrival;
      if (light === undefined) throw new Refused('no_light_plan', `${id} has no light plan`);
      const today = light.plan.days[dayOfPlan(light, nowMs, timezone) - 1];
      if (today === undefined) throw new Refused('not_now', `the light plan of ${id} has no height for today`);
      const body = { event: 'rack_set' as const, arrival: id, height_cm: today.height_cm, day: today.day };
      const next = withArrival(memory.state(), { ...arrival, light: { ...light, movedMs: nowMs } });
      memory.keep(next, { entries: [{ kind: 'arrival', timeMs: nowMs, recordedMs: nowMs, system, body }] });
      return find(id);
    },
  };
}

/** @throws Refused too_many  for a list that would grow without end: all of it is written at each change */
function checkRoomIn(list: readonly unknown[], what: string): void {
  if (list.length >= mostOfArrival)
    throw new Refused('too_many', `found ${list.length} ${what} of this arrival, allowed ${mostOfArrival}`);
}

/** @throws Refused too_many  when all places are taken by arrivals that are not closed */
function roomFor(state: ArrivalsState): ArrivalsState {
  if (state.arrivals.length < mostArrivals) return state;
  const closed = state.arrivals.find((each) => each.state === 'closed');
  if (closed === undefined)
    throw new Refused('too_many', `found ${state.arrivals.length} arrivals, allowed ${mostArrivals}: close old ones`);
  return { ...state, arrivals: state.arrivals.filter((each) => each !== closed) };
}
