import type { Store } from '#adapters/ports/store.ts';
import type { ChecklistRun } from '#rules/arrivals/checklist.ts';
import { type NewEntry, readJournal } from '../../model/journal/journal.ts';
import { type ArrivalsState, withArrival } from './arrivals-state.ts';

/** What a done step counted as is taken back with it: a soak as a dip, an inspection as one of the watch over pests. */
export function withoutLastStep(state: ArrivalsState, run: ChecklistRun): ArrivalsState {
  const last = run.done.at(-1);
  const arrival = state.arrivals.find(({ id }) => id === run.arrivalId);
  if (last === undefined || arrival === undefined) return state;
  if (last.kind === 'soak') {
    const place = arrival.dipsMs.lastIndexOf(last.startedMs);
    return withArrival(state, { ...arrival, dipsMs: arrival.dipsMs.filter((_, index) => index !== place) });
  }
  if (last.kind === 'inspection') {
    const inspections = arrival.inspections.filter(({ timeMs }) => timeMs !== last.doneMs);
    return withArrival(state, { ...arrival, inspections });
  }
  return state;
}

/** Withdraws what the last step of a run wrote into the histories of its pieces. */
export function withdrawalsOfLastStep(
  store: Pick<Store, 'journal'>,
  run: ChecklistRun,
  system: string,
  nowMs: number,
): NewEntry<'piece'>[] {
  const last = run.done.at(-1);
  if (last?.kind !== 'soak') return [];
  return readJournal(store, { kind: 'piece', system, fromMs: last.startedMs, toMs: last.startedMs + 1 })
    .filter(({ body }) => body.event === 'dipped' && body.run === run.id)
    .map(({ id, kind, timeMs, body }) => ({
      kind,
      timeMs,
      recordedMs: nowMs,
      system,
      body,
      corrects: id,
      isWithdrawn: true,
    }));
}
