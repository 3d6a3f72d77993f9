import type { Store } from '#adapters/ports/store.ts';
import type { ChecklistRun } from '#rules/arrivals/checklist.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { Config } from '../../model/config/schema.ts';
import type { BathWaterEntry, RunStart, ShockEntry, StepDone } from '../../model/entries/arrival-schemas.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { Ways } from '../notices/notice-items.ts';
import type { Batches } from '../water/batches.ts';
import type { ArrivalsMemory } from './arrivals-memory.ts';
import { type Arrival, type RunFacts, withArrival } from './arrivals-state.ts';
import {
  type BagCheck,
  type BathCheck,
  bathAtStep,
  bathsForRun,
  checkBag,
  checkBath,
  measuredOf,
  protocolForRun,
} from './bath-of-run.ts';
import type { Protocols } from './protocol-files.ts';
import type { RunningChecklists } from './running-checklists.ts';
import { shockWarning } from './shock-warning.ts';
import { withdrawalsOfLastStep, withoutLastStep } from './undone-step.ts';

export type RunParts = {
  config: Config;
  store: Pick<Store, 'journal' | 'series' | 'latest'>;
  ways: Ways;
  memory: ArrivalsMemory;
  checklists: RunningChecklists;
  batches: Pick<Batches, 'find'>;
  protocols: Protocols;
  /** In which sentences speak. */
  units(): KeepersUnits;
};

/** Protocols at work, each run with its baths. */
export type Runs = {
  /** @throws Refused unknown_run */
  run(id: string): ChecklistRun;
  of(arrivalId: string): ChecklistRun[];
  facts(runId: string): RunFacts;
  start(id: string, entry: RunStart, nowMs: number): ChecklistRun;
  startTimer(runId: string, nowMs: number): ChecklistRun;
  stepDone(runId: string, done: StepDone, nowMs: number): ChecklistRun;
  /** The last step was marked done by a slip; what it counted as is taken back. */
  undoStep(runId: string, nowMs: number): ChecklistRun;
  remove(runId: string, nowMs: number): void;
  measureBath(runId: string, entry: BathWaterEntry, nowMs: number): BathCheck;
  checkBath(runId: string, nowMs: number): BathCheck;
  checkBag(arrivalId: string, entry: ShockEntry, nowMs: number): BagCheck;
};

export function createRuns({ config, store, ways, memory, checklists, batches, protocols, units }: RunParts): Runs {
  function find(id: string): Arrival {
    const arrival = memory.state().arrivals.find((each) => each.id === id);
    if (arrival === undefined) throw new Refused('unknown_arrival', `there is no arrival "${id}"`);
    return arrival;
  }

  function factsOf(runId: string): RunFacts {
    return memory.state().runs.find((each) => each.runId === runId) ?? { runId, baths: [], rinseL: 0, pieces: [] };
  }

  function bathChecked(runId: string, nowMs: number): BathCheck {
    const run = checklists.run(runId);
    return checkBath(store, run, factsOf(runId), find(run.arrivalId).system, nowMs, units());
  }

  /** Said on the phone too: whoever has both hands in the bags does not look at a page. */
  function warnOfShock(runId: string, nowMs: number): void {
    const run = checklists.run(runId);
    if (run.protocol.steps[run.step]?.kind !== 'soak') return;
    const outbox = shockWarning(bathChecked(runId, nowMs), run, find(run.arrivalId).name, ways);
    if (outbox.length > 0) memory.keepOrSay(memory.state(), { outbox });
  }

  return {
    run: checklists.run,
    of: (id) => memory.state().checklist.runs.filter(({ arrivalId }) => arrivalId === id),
    facts: factsOf,
    start(id, entry, nowMs) {
      if (find(id).state === 'expected')
        throw new Refused('not_arrived', `${id} is expected and not here yet: log its arrival first`);
      const protocol = protocols.known.find((each) => each.id === entry.protocol);
      if (protocol === undefined) {
        const known = protocols.known.map((each) => each.id).join(', ');
        throw new Refused('unknown_protocol', `there is no protocol "${entry.protocol}"; there is: ${known}`);
      }
      if (entry.bath_probes !== undefined && !config.systems.some((each) => each.id === entry.bath_probes))
        throw noSystem(entry.bath_probes, config.systems);
      if (entry.batch !== undefined) batches.find(entry.batch);
      const chosen = protocolForRun(protocol, entry);
      const runId = `${id}-${memory.state().nextRun}`;
      const facts: RunFacts = {
        runId,
        baths: bathsForRun(entry, chosen),
        rinseL: entry.rinse_l ?? 0,
        pieces: entry.pieces,
        ...defined({ probesOf: entry.bath_probes, batch: entry.batch }),
      };
      checklists.offer({ kind: 'start', runId, arrivalId: id, protocol: chosen }, nowMs, (state) => {
        // Refused here, before anything is stored: a bath that no rule allows.
        chosen.steps.forEach((_, step) => void bathAtStep(chosen, facts, step));
        return { ...state, nextRun: state.nextRun + 1, runs: [...state.runs, facts] };
      });
      if (entry.start_timer === true) checklists.offer({ kind: 'start_timer', runId }, nowMs);
      return checklists.run(runId);
    },
    startTimer(runId, nowMs) {
      checklists.offer({ kind: 'start_timer', runId }, nowMs);
      return checklists.run(runId);
    },
    stepDone(runId, { findings, early }, nowMs) {
      const said = { ...defined({ findings }), isEarly: early === true };
      checklists.offer({ kind: 'step_done', runId, ...said }, nowMs);
      warnOfShock(runId, nowMs);
      return checklists.run(runId);
    },
    undoStep(runId, nowMs) {
      const run = checklists.run(runId);
      const withdrawn = withdrawalsOfLastStep(store, run, find(run.arrivalId).system, nowMs);
      checklists.offer({ kind: 'step_undone', runId }, nowMs, (state) => withoutLastStep(state, run), withdrawn);
      return checklists.run(runId);
    },
    remove: (runId, nowMs) => void checklists.offer({ kind: 'delete_run', runId }, nowMs),
    measureBath(runId, entry, nowMs) {
      checklists.run(runId);
      const { bag, ...bath } = entry;
      const facts: RunFacts = {
        ...factsOf(runId),
        measured: { ...measuredOf(bath), timeMs: nowMs },
        ...(bag === undefined ? {} : { bag: measuredOf(bag) }),
      };
      const state = memory.state();
      memory.keep({ ...state, runs: [...state.runs.filter((each) => each.runId !== runId), facts] });
      warnOfShock(runId, nowMs);
      return bathChecked(runId, nowMs);
    },
    checkBag(id, entry, nowMs) {
      const checked = checkBag(store, entry, find(id).system, nowMs, units());
      const { ammonia } = checked;
      const { tankOnlyBecause: before, ...arrival } = find(id);
      const because = ammonia?.isWarned === true ? ammonia.text : undefined;
      // A check without the figures for it takes back no warning.
      if (ammonia !== undefined && because !== before)
        memory.keep(
          withArrival(memory.state(), because === undefined ? arrival : { ...arrival, tankOnlyBecause: because }),
        );
      return checked;
    },
    checkBath: bathChecked,
  };
}
