import {
  type ChecklistEvent,
  type ChecklistFault,
  type ChecklistInput,
  type ChecklistRun,
  mostRuns,
  movedRuns,
  nextTickMs,
  stepChecklist,
} from '#rules/arrivals/checklist.ts';
import type { ClockMove } from '#rules/clock/clock-move.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import type { NewEntry } from '../../model/journal/journal.ts';
import { type Refusal, Refused } from '../../model/refusals/refused.ts';
import type { Ways } from '../notices/notice-items.ts';
import type { ArrivalsMemory } from './arrivals-memory.ts';
import { type Arrival, type ArrivalsState, mostOfArrival, withArrival } from './arrivals-state.ts';
import { timerItems } from './timer-lines.ts';

const problemOf: Record<ChecklistFault, Refusal> = {
  run_exists: 'not_now',
  run_unknown: 'unknown_run',
  arrival_unknown: 'unknown_arrival',
  too_many_runs: 'too_many',
  protocol_faulty: 'protocol_faulty',
  already_finished: 'not_now',
  step_has_no_timer: 'not_now',
  timer_runs: 'not_now',
  timer_not_started: 'too_early',
  time_not_over: 'too_early',
  nothing_done: 'not_now',
  soak_runs: 'soak_runs',
};

export type RunningChecklists = {
  /**
   * Gives an input to the checklist and keeps what it changes, on disk when this returns.
   *
   * @param prepare  changes the rest of the state in the same transaction
   * @param also     entries of the journal for the same transaction
   * @throws Refused  when the checklist refuses; what its timers had to say is then said all the same
   */
  offer(
    input: ChecklistInput,
    nowMs: number,
    prepare?: (state: ArrivalsState) => ArrivalsState,
    also?: readonly NewEntry<'piece'>[],
  ): ChecklistEvent[];
  /** Says what timers have to say by now; costs nothing when none is due. */
  tick(nowMs: number): void;
  run(id: string): ChecklistRun;
  /** The clock has moved: timers that run move with it. Nothing is stored. */
  moveTimers(move: ClockMove): void;
};

/** Runs of protocols at work: every input and every tick is stored with the calls that it caused before one is sent. */
export function createRunningChecklists(memory: ArrivalsMemory, ways: Ways): RunningChecklists {
  const nameOf = (id: string) => memory.state().arrivals.find((each) => each.id === id)?.name ?? id;

  function journalOf(events: readonly ChecklistEvent[], before: ArrivalsState, nowMs: number): NewEntry<'arrival'>[] {
    return events.flatMap((event): NewEntry<'arrival'>[] => {
      const arrival = before.arrivals.find(({ id }) => id === event.arrivalId);
      if (arrival === undefined) return [];
      return [{ kind: 'arrival', timeMs: nowMs, recordedMs: nowMs, system: arrival.system, body: bodyOf(event) }];
    });
  }

  return {
    offer(input, nowMs, prepare = (state) => state, also = []) {
      const before = withRoom(memory.state(), input);
      const result = stepChecklist(before.checklist, input, nowMs);
      const outbox = timerItems(result.events, result.state, nameOf, ways);
      const entries = journalOf(result.events, before, nowMs);
      if (result.refused !== undefined) {
        if (outbox.length > 0) memory.keepOrSay({ ...before, checklist: result.state }, { entries, outbox });
        throw new Refused(problemOf[result.refused.fault], result.refused.why);
      }
      const done = doneStep(before, result.state.runs, input, nowMs);
      const ids = new Set(result.state.runs.map(({ id }) => id));
      const changed = prepare(done.state);
      const runs = changed.runs.filter(({ runId }) => ids.has(runId));
      const kept = [...entries, ...done.entries, ...also];
      memory.keep({ ...changed, checklist: result.state, runs }, { entries: kept, outbox });
      return result.events;
    },
    tick(nowMs) {
      const state = memory.state();
      const dueMs = nextTickMs(state.checklist);
      if (dueMs === undefined || nowMs < dueMs) return;
      const result = stepChecklist(state.checklist, { kind: 'tick' }, nowMs);
      if (result.events.length === 0) return;
      const outbox = timerItems(result.events, result.state, nameOf, ways);
      memory.keepOrSay(
        { ...state, checklist: result.state },
        { entries: journalOf(result.events, state, nowMs), outbox },
      );
    },
    moveTimers(move) {
      const state = memory.state();
      memory.replace({ ...state, checklist: movedRuns(state.checklist, move) });
    },
    run(id) {
      const run = memory.state().checklist.runs.find((each) => each.id === id);
      if (run === undefined) throw new Refused('unknown_run', `there is no checklist "${id}"`);
      return run;
    },
  };
}

function bodyOf(event: ChecklistEvent): BodyOf<'arrival'> {
  const { arrivalId: arrival, runId } = event;
  switch (event.kind) {
    case 'step': {
      const { step, stepKind, cautions } = event;
      return { event: 'run_step', arrival, runId, step, stepKind, cautions: [...cautions] };
    }
    case 'timer': {
      const { step, stepKind, call } = event;
      return { event: 'run_timer', arrival, runId, step, stepKind, call };
    }
    case 'timed': {
      const { step, stepKind, tookMs, earlyMs } = event;
      return { event: 'run_timed', arrival, runId, step, stepKind, tookMs, earlyMs };
    }
    case 'undone':
      return { event: 'run_undone', arrival, runId, step: event.step, stepKind: event.stepKind };
    case 'finished':
      return { event: 'run_finished', arrival, runId };
    case 'deleted':
      return { event: 'run_deleted', arrival, runId };
  }
}

/** When all places are taken, the run that was finished longest ago makes room; the journal keeps what it was. */
function withRoom(state: ArrivalsState, input: ChecklistInput): ArrivalsState {
  if (input.kind !== 'start' || state.checklist.runs.length < mostRuns) return state;
  const finished = state.checklist.runs.findIndex((run) => run.step >= run.protocol.steps.length);
  if (finished < 0) return state;
  return { ...state, checklist: { runs: state.checklist.runs.filter((_, place) => place !== finished) } };
}

/** A soak that is done is a dip, and an inspection that is done counts for the watch over pests. */
function doneStep(
  before: ArrivalsState,
  runs: readonly ChecklistRun[],
  input: ChecklistInput,
  nowMs: number,
): { state: ArrivalsState; entries: NewEntry<'piece'>[] } {
  if (input.kind !== 'step_done') return { state: before, entries: [] };
  const run = runs.find(({ id }) => id === input.runId);
  const record = run?.done.at(-1);
  const arrival = before.arrivals.find(({ id }) => id === run?.arrivalId);
  if (run === undefined || record === undefined || arrival === undefined) return { state: before, entries: [] };
  const entries: NewEntry<'piece'>[] = [];
  let changed: Arrival = arrival;
  if (record.kind === 'soak') {
    changed = { ...changed, dipsMs: [...changed.dipsMs, record.startedMs].slice(-mostOfArrival) };
    for (const piece of before.runs.find(({ runId }) => runId === run.id)?.pieces ?? []) {
      const body = { event: 'dipped' as const, piece, run: run.id, note: run.protocol.name };
      entries.push({ kind: 'piece', timeMs: record.startedMs, recordedMs: nowMs, system: arrival.system, body });
    }
  }
  if (record.kind === 'inspection') {
    const inspection = { timeMs: nowMs, findings: input.findings ?? 'nothing written down' };
    changed = { ...changed, inspections: [...changed.inspections, inspection].slice(-mostOfArrival) };
  }
  return { state: changed === arrival ? before : withArrival(before, changed), entries };
}
