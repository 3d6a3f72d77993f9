import type { Store } from '#adapters/ports/store.ts';
import { type Entry, readJournal, withdrawalOf } from '../../model/journal/journal.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { ArrivalsMemory } from './arrivals-memory.ts';
import { type Arrival, withArrival } from './arrivals-state.ts';
import type { RunningChecklists } from './running-checklists.ts';

type Parts = {
  store: Pick<Store, 'journal'>;
  memory: ArrivalsMemory;
  checklists: RunningChecklists;
  /** @throws Refused unknown_arrival */
  find(id: string): Arrival;
  learned(system: string, timeMs: number): void;
};

/** What of an arrival never was: it goes from what is known and from what the journal counts, in one transaction. */
export type TakingBack = {
  /** Entered by mistake, with its pieces. @throws Refused soak_runs */
  remove(id: string, nowMs: number): void;
  /** @throws Refused unknown_entry */
  dip(id: string, time: string, nowMs: number): Arrival;
  /** @throws Refused unknown_entry */
  inspection(id: string, time: string, nowMs: number): Arrival;
  /** @throws Refused soak_runs, not_now */
  entry(entry: Entry<'arrival'>, by: string, nowMs: number): number | undefined;
};

/** Its runs go; refused while pieces soak, and what the timers have to say is said all the same. */
export function endRuns({ memory, checklists }: Pick<Parts, 'memory' | 'checklists'>, id: string, nowMs: number): void {
  const hasRuns = memory.state().checklist.runs.some(({ arrivalId }) => arrivalId === id);
  if (hasRuns) checklists.offer({ kind: 'delete_arrival', arrivalId: id }, nowMs);
}

/** What becomes of a piece while its arrival is at work: it says no more of the piece than that it came. */
const withItsArrival: ReadonlySet<string> = new Set(['added', 'dipped']);

export function createTakingBack({ store, memory, checklists, find, learned }: Parts): TakingBack {
  const said = (id: string, system: string) =>
    readJournal(store, { kind: 'arrival', system }).filter(({ body }) => body.arrival === id);

  /** Of pieces that came with it and of which nothing else is known. */
  function piecesOf(id: string, system: string): Entry<'piece'>[] {
    const entries = readJournal(store, { kind: 'piece', system });
    const came = entries
      .filter(({ body }) => body.event === 'added' && body.arrival === id)
      .map(({ body }) => body.piece);
    const ofArrival = entries.filter(({ body }) => came.includes(body.piece));
    const known = new Set(
      ofArrival.filter(({ body }) => !withItsArrival.has(body.event)).map(({ body }) => body.piece),
    );
    return ofArrival.filter(({ body }) => !known.has(body.piece));
  }

  function remove(id: string, nowMs: number, by?: string): number[] {
    const { system, name } = find(id);
    endRuns({ memory, checklists }, id, nowMs);
    const entries = said(id, system);
    const arrived = entries.find(({ body }) => body.event === 'arrived');
    const expected = entries.find(({ body }) => body.event === 'expected');
    const body = { event: 'deleted' as const, arrival: id, name };
    const deleted = { kind: 'arrival' as const, timeMs: nowMs, recordedMs: nowMs, system, body };
    const counted = [arrived, expected].filter((entry) => entry !== undefined);
    const state = memory.state();
    const ids = memory.keep(
      { ...state, arrivals: state.arrivals.filter((each) => each.id !== id) },
      {
        entries: [
          ...counted.map((entry) => withdrawalOf(entry, nowMs, by)),
          ...(counted.length === 0 ? [deleted] : []),
          ...piecesOf(id, system).map((entry) => withdrawalOf(entry, nowMs, by)),
        ],
      },
    );
    learned(system, arrived?.timeMs ?? nowMs);
    return ids;
  }

  /** Expected again, as before it was said that they are here. */
  function expectedAgain(arrival: Arrival, entries: readonly Entry<'arrival'>[], by: string, nowMs: number): number[] {
    const { id, system } = arrival;
    endRuns({ memory, checklists }, id, nowMs);
    const { arrivedMs = nowMs, remindedOn: _reminded, ...before } = find(id);
    const takenBack = (arrival.takenBack ?? 0) + 1;
    const next: Arrival = {
      ...before,
      state: 'expected',
      dipsMs: [],
      inspections: [],
      isDemandReported: false,
      takenBack,
    };
    const gone = entries.filter(({ body }) => body.event === 'arrived' || body.event === 'inspected');
    // First what was asked for: its id is the answer.
    const ordered = gone.toSorted((a, b) => Number(b.body.event === 'arrived') - Number(a.body.event === 'arrived'));
    const ids = memory.keep(withArrival(memory.state(), next), {
      entries: [...ordered, ...piecesOf(id, system)].map((entry) => withdrawalOf(entry, nowMs, by)),
    });
    learned(system, arrivedMs);
    return ids;
  }

  /** What the checklist of that dip wrote into the histories of its pieces; none, for a dip without a checklist. */
  function dippedBy({ id, system, dipsMs }: Arrival, timeMs: number): Entry<'piece'>[] {
    const runs = new Set(said(id, system).flatMap(({ body }) => ('runId' in body ? [body.runId] : [])));
    const dipped = readJournal(store, { kind: 'piece', system, fromMs: timeMs, toMs: timeMs + 1 }).filter(
      ({ body }) => body.event === 'dipped' && body.run !== undefined && runs.has(body.run),
    );
    const runOf = ({ body }: Entry<'piece'>) => (body.event === 'dipped' ? body.run : undefined);
    const atOnce = new Set(dipped.map(runOf));
    const dips = dipsMs.filter((each) => each === timeMs).length;
    if (dips > atOnce.size) return [];
    const last = dipped.at(-1);
    return last === undefined ? [] : dipped.filter((entry) => runOf(entry) === runOf(last));
  }

  return {
    remove: (id, nowMs) => void remove(id, nowMs),
    dip(id, time, nowMs) {
      const arrival = find(id);
      const timeMs = Date.parse(time);
      const place = arrival.dipsMs.lastIndexOf(timeMs);
      if (place < 0) throw new Refused('unknown_entry', `${id} has no dip of ${time}`);
      const next = { ...arrival, dipsMs: arrival.dipsMs.filter((_, index) => index !== place) };
      const entries = dippedBy(arrival, timeMs).map((entry) => withdrawalOf(entry, nowMs));
      memory.keep(withArrival(memory.state(), next), { entries });
      return next;
    },
    inspection(id, time, nowMs) {
      const arrival = find(id);
      const timeMs = Date.parse(time);
      const seen = arrival.inspections.findLast((each) => each.timeMs === timeMs);
      if (seen === undefined) throw new Refused('unknown_entry', `${id} has no inspection of ${time}`);
      const next = { ...arrival, inspections: arrival.inspections.filter((each) => each !== seen) };
      const written = said(id, arrival.system).find(
        ({ body, timeMs: atMs }) => atMs === timeMs && body.event === 'inspected' && body.findings === seen.findings,
      );
      const entries = written === undefined ? [] : [withdrawalOf(written, nowMs)];
      memory.keep(withArrival(memory.state(), next), { entries });
      return next;
    },
    entry(entry, by, nowMs) {
      const { body, timeMs } = entry;
      const arrival = memory.state().arrivals.find((each) => each.id === body.arrival);
      if (arrival === undefined) return undefined;
      const { id, system, name } = arrival;
      const keepWithout = (next: Arrival) =>
        memory.keep(withArrival(memory.state(), next), { entries: [withdrawalOf(entry, nowMs, by)] })[0];
      switch (body.event) {
        case 'arrived': {
          const entries = said(id, system);
          const wasExpected = entries.some((each) => each.body.event === 'expected');
          return (wasExpected ? expectedAgain(arrival, entries, by, nowMs) : remove(id, nowMs, by))[0];
        }
        case 'expected':
          if (arrival.state !== 'expected')
            throw new Refused('not_now', `${name} has arrived: take back its arrival first`);
          return remove(id, nowMs, by)[0];
        case 'inspected': {
          const { findings } = body;
          const seen = arrival.inspections.findLast((each) => each.timeMs === timeMs && each.findings === findings);
          return keepWithout({ ...arrival, inspections: arrival.inspections.filter((each) => each !== seen) });
        }
        case 'rack_set': {
          if (arrival.light?.movedMs !== timeMs) return undefined;
          const { movedMs: _moved, ...light } = arrival.light;
          return keepWithout({ ...arrival, light });
        }
        default:
          throw new Refused('not_now', `a step of ${name} is taken back in its checklist`);
      }
    },
  };
}
