import type { ClockMove } from '../clock/clock-move.ts';
import { defined } from '../plain-data/defined.ts';
import { type Protocol, type ProtocolStep, type ProtocolStepKind, protocolFaults, stepCautions } from './protocol.ts';
import { nextCallMs, type StepTimer, type TimerCall, timerCalls, timerFor } from './step-timer.ts';

/** A step that was done: when, what was seen, and its timer as it stood, so that an undone step goes on by the same clock. */
export type StepRecord = {
  step: number;
  kind: ProtocolStepKind;
  startedMs: number;
  doneMs: number;
  findings?: string;
  timer?: StepTimer;
  /** By the clock of the step, from its start; absent for a step without minutes, and for one whose clock never ran. */
  tookMinutes?: number;
};

/** One bath full of pieces on its way through a protocol. An arrival may have several at once. */
export type ChecklistRun = {
  id: string;
  arrivalId: string;
  /** As it was at the start: a change of the file does not reach a run. */
  protocol: Protocol;
  /** Place of the step at hand; the number of steps when all are done. */
  step: number;
  stepStartedMs: number;
  timer?: StepTimer;
  done: StepRecord[];
};

/** All runs; plain data, so that it can be stored before a call is sent and restored at start. */
export type ChecklistState = { runs: ChecklistRun[] };

/** The clock was put right: the step at hand and its timer count on; what is done keeps the time that it was given. */
export function movedRuns({ runs }: ChecklistState, { noted }: ClockMove): ChecklistState {
  const timerOf = ({ timer }: ChecklistRun): Pick<ChecklistRun, 'timer'> =>
    timer === undefined
      ? {}
      : {
          timer: {
            ...timer,
            startedMs: noted(timer.startedMs),
            endsMs: noted(timer.endsMs),
            ...(timer.maximumMs === undefined ? {} : { maximumMs: noted(timer.maximumMs) }),
          },
        };
  return { runs: runs.map((run) => ({ ...run, stepStartedMs: noted(run.stepStartedMs), ...timerOf(run) })) };
}

export const noRuns: ChecklistState = { runs: [] };

/** At most so many at once: more is a slip, not a delivery. */
export const mostRuns = 50;

export type ChecklistInput =
  | { kind: 'start'; runId: string; arrivalId: string; protocol: Protocol }
  /** The pieces are in, or the bags afloat: start the clock of the step at hand. */
  | { kind: 'start_timer'; runId: string }
  /**
   * The step at hand is done; it ends its timer. A step with minutes is refused before they are over, unless the person was
   * asked and says so with `isEarly`: a soak may always be ended, however early.
   */
  | { kind: 'step_done'; runId: string; findings?: string; isEarly?: boolean }
  /** The last step was marked done by a slip: it is at hand again, and its timer goes on as if it had not been left. */
  | { kind: 'step_undone'; runId: string }
  | { kind: 'delete_run'; runId: string }
  | { kind: 'delete_arrival'; arrivalId: string }
  /** Time passed. */
  | { kind: 'tick' };

export type ChecklistEvent =
  | {
      kind: 'step';
      runId: string;
      arrivalId: string;
      step: number;
      stepKind: ProtocolStepKind;
      cautions: readonly string[];
    }
  | ({ kind: 'timer'; runId: string; arrivalId: string; step: number; stepKind: ProtocolStepKind } & {
      call: TimerCall;
    })
  /** A step with minutes was ended: what its clock showed, and how much of its minutes was left out. */
  | {
      kind: 'timed';
      runId: string;
      arrivalId: string;
      step: number;
      stepKind: ProtocolStepKind;
      tookMs: number;
      earlyMs: number;
    }
  | { kind: 'undone'; runId: string; arrivalId: string; step: number; stepKind: ProtocolStepKind }
  | { kind: 'finished' | 'deleted'; runId: string; arrivalId: string };

export type ChecklistFault =
  | 'run_exists'
  | 'run_unknown'
  | 'arrival_unknown'
  | 'too_many_runs'
  | 'protocol_faulty'
  | 'already_finished'
  | 'step_has_no_timer'
  | 'timer_runs'
  | 'timer_not_started'
  | 'time_not_over'
  | 'nothing_done'
  | 'soak_runs';

export type ChecklistResult = {
  /** Unchanged when refused. */
  state: ChecklistState;
  events: ChecklistEvent[];
  refused?: { fault: ChecklistFault; why: string };
};

/**
 * One step of the checklist. Every input tells the timers too, but for that of the run it is about, which the next one tells:
 * nothing is forgotten between two ticks.
 *
 * @param nowMs  UTC ms; should the clock step back, timers wait until it has caught up
 */
export function stepChecklist(state: ChecklistState, input: ChecklistInput, nowMs: number): ChecklistResult {
  const told = tellTimers(state, nowMs, 'runId' in input && input.kind !== 'start' ? input.runId : undefined);
  const result = apply(told.state, input, nowMs);
  return { ...result, events: [...told.events, ...result.events] };
}

/** When a timer has something to say next: no tick is needed before. */
export function nextTickMs(state: ChecklistState): number | undefined {
  const times = state.runs.flatMap(({ timer }) => (timer === undefined ? [] : (nextCallMs(timer) ?? [])));
  return times.length === 0 ? undefined : Math.min(...times);
}

/** The run whose input is at hand is left out: lifted out in the last second, its pieces need no call. */
function tellTimers(state: ChecklistState, nowMs: number, exceptRunId: string | undefined) {
  const events: ChecklistEvent[] = [];
  const runs = state.runs.map((run) => {
    const at = stepAt(run);
    if (run.timer === undefined || at === undefined || run.id === exceptRunId) return run;
    const { timer, calls } = timerCalls(run.timer, nowMs);
    events.push(...calls.map((call) => ({ kind: 'timer' as const, ...at, call })));
    return timer === run.timer ? run : { ...run, timer };
  });
  return { state: events.length === 0 ? state : { runs }, events };
}

function apply(state: ChecklistState, input: ChecklistInput, nowMs: number): ChecklistResult {
  const refuse = (fault: ChecklistFault, why: string): ChecklistResult => ({
    state,
    events: [],
    refused: { fault, why },
  });
  if (input.kind === 'tick') return { state, events: [] };
  if (input.kind === 'start') return start(state, input, nowMs, refuse);
  if (input.kind === 'delete_arrival') {
    const runs = state.runs.filter(({ arrivalId }) => arrivalId === input.arrivalId);
    if (runs.length === 0) return refuse('arrival_unknown', `Arrival ${input.arrivalId} has no checklist.`);
    return remove(state, runs, refuse);
  }
  const run = state.runs.find(({ id }) => id === input.runId);
  if (run === undefined) return refuse('run_unknown', `There is no checklist ${input.runId}.`);
  if (input.kind === 'delete_run') return remove(state, [run], refuse);
  if (input.kind === 'step_undone') return undoStep(state, run, refuse);
  const step = run.protocol.steps[run.step];
  if (step === undefined) return refuse('already_finished', `All steps of ${run.id} are done.`);

  if (input.kind === 'start_timer') {
    if (run.timer !== undefined) return refuse('timer_runs', 'The timer of this step is already running.');
    const timer = timerFor(step, nowMs);
    if (timer === undefined) return refuse('step_has_no_timer', `The step ${words(step.kind)} has no timer.`);
    return { state: replace(state, { ...run, stepStartedMs: nowMs, timer }), events: [] };
  }
  if (step.kind === 'soak' && run.timer === undefined) {
    return refuse('timer_not_started', 'Start the timer when the pieces are in: a soak without a clock is not done.');
  }
  const early = input.isEarly === true ? undefined : tooEarly(run, step, nowMs);
  if (early !== undefined) return refuse(...early);
  return finishStep(state, run, input.findings, nowMs);
}

/** Why a step with minutes is not over yet; undefined when it is, and for a step that takes as long as it takes. */
function tooEarly(run: ChecklistRun, step: ProtocolStep, nowMs: number): [ChecklistFault, string] | undefined {
  const planned = timerFor(step, nowMs);
  if (planned === undefined) return undefined;
  if (run.timer === undefined) {
    const minutes = Math.round((planned.endsMs - nowMs) / 60_000);
    return ['timer_not_started', `The ${minutes} minutes of this step have not started: start its timer.`];
  }
  const leftMs = run.timer.endsMs - nowMs;
  if (leftMs <= 0) return undefined;
  return ['time_not_over', `${Math.ceil(leftMs / 60_000)} min of this step are left.`];
}

type Refuse = (fault: ChecklistFault, why: string) => ChecklistResult;

function start(
  state: ChecklistState,
  { runId, arrivalId, protocol }: Extract<ChecklistInput, { kind: 'start' }>,
  nowMs: number,
  refuse: Refuse,
): ChecklistResult {
  if (state.runs.some(({ id }) => id === runId)) return refuse('run_exists', `There is already a checklist ${runId}.`);
  if (state.runs.length >= mostRuns)
    return refuse('too_many_runs', `There are ${mostRuns} checklists already: delete finished ones.`);
  const [fault] = protocolFaults(protocol);
  if (fault !== undefined) {
    const where = fault.step === undefined ? '' : `Step ${fault.step + 1}: `;
    return refuse('protocol_faulty', `${where}${fault.text}`);
  }
  const run: ChecklistRun = { id: runId, arrivalId, protocol, step: 0, stepStartedMs: nowMs, done: [] };
  return { state: { runs: [...state.runs, run] }, events: entered(run) };
}

function finishStep(
  state: ChecklistState,
  run: ChecklistRun,
  findings: string | undefined,
  nowMs: number,
): ChecklistResult {
  const at = stepAt(run)!;
  const record: StepRecord = {
    step: run.step,
    kind: at.stepKind,
    startedMs: run.stepStartedMs,
    doneMs: nowMs,
    ...defined({ findings }),
    // A clock that stepped back between start and end has measured nothing below 0.
    ...(run.timer === undefined
      ? {}
      : { timer: run.timer, tookMinutes: Math.max(0, nowMs - run.timer.startedMs) / 60_000 }),
  };
  const events: ChecklistEvent[] = [];
  if (run.timer !== undefined) {
    const { startedMs, endsMs } = run.timer;
    const [tookMs, earlyMs] = [Math.max(0, nowMs - startedMs), Math.max(0, endsMs - nowMs)];
    events.push({ kind: 'timed', ...at, tookMs, earlyMs });
  }
  const { timer: _, ...untimed } = run;
  const next: ChecklistRun = { ...untimed, step: run.step + 1, stepStartedMs: nowMs, done: [...run.done, record] };
  return { state: replace(state, next), events: [...events, ...entered(next)] };
}

function undoStep(state: ChecklistState, run: ChecklistRun, refuse: Refuse): ChecklistResult {
  const last = run.done.at(-1);
  if (last === undefined) return refuse('nothing_done', `No step of ${run.id} is done yet.`);
  // A clock that runs belongs to pieces in water: going back must not lose it.
  if (run.timer !== undefined) {
    return refuse('timer_runs', 'The timer of this step is running: end the step before you go back.');
  }
  const { timer: _, ...untimed } = run;
  const next: ChecklistRun = {
    ...untimed,
    step: last.step,
    stepStartedMs: last.startedMs,
    done: run.done.slice(0, -1),
    ...defined({ timer: last.timer }),
  };
  const at = stepAt(next)!;
  return { state: replace(state, next), events: [{ kind: 'undone', ...at }] };
}

/** Pieces in a reagent must not lose their clock: they come out first, then the run may go. */
function remove(state: ChecklistState, runs: readonly ChecklistRun[], refuse: Refuse): ChecklistResult {
  const soaking = runs.find((run) => run.timer !== undefined && stepAt(run)?.stepKind === 'soak');
  if (soaking !== undefined) {
    return refuse(
      'soak_runs',
      `Pieces of ${soaking.id} are in the dip bath. Take them out, mark the soak done, then delete.`,
    );
  }
  const events = runs.map(({ id, arrivalId }) => ({ kind: 'deleted' as const, runId: id, arrivalId }));
  return { state: { runs: state.runs.filter((run) => !runs.includes(run)) }, events };
}

function entered(run: ChecklistRun): ChecklistEvent[] {
  const at = stepAt(run);
  if (at === undefined) return [{ kind: 'finished', runId: run.id, arrivalId: run.arrivalId }];
  return [{ kind: 'step', ...at, cautions: stepCautions(at.stepKind) }];
}

function stepAt(run: ChecklistRun) {
  const step = run.protocol.steps[run.step];
  if (step === undefined) return undefined;
  return { runId: run.id, arrivalId: run.arrivalId, step: run.step, stepKind: step.kind };
}

function replace(state: ChecklistState, run: ChecklistRun): ChecklistState {
  return { runs: state.runs.map((each) => (each.id === run.id ? run : each)) };
}

const words = (kind: ProtocolStepKind): string => kind.replaceAll('_', ' ');
