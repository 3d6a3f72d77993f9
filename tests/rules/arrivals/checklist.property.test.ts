import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  type ChecklistInput,
  type ChecklistState,
  nextTickMs,
  noRuns,
  stepChecklist,
} from '#rules/arrivals/checklist.ts';
import { ownProtocols } from '#rules/arrivals/own-protocols.ts';

const minute = 60_000;
const runId = fc.constantFrom('A', 'B', 'C');
const protocol = ownProtocols[0]!;
const input: fc.Arbitrary<ChecklistInput> = fc.oneof(
  runId.map((id) => ({ kind: 'start' as const, runId: id, arrivalId: id === 'C' ? 'other' : 'one', protocol })),
  { weight: 3, arbitrary: runId.map((id) => ({ kind: 'start_timer' as const, runId: id })) },
  {
    weight: 3,
    arbitrary: fc
      .tuple(runId, fc.boolean())
      .map(([id, isEarly]) => ({ kind: 'step_done' as const, runId: id, isEarly })),
  },
  runId.map((id) => ({ kind: 'step_undone' as const, runId: id })),
  runId.map((id) => ({ kind: 'delete_run' as const, runId: id })),
  fc.constant({ kind: 'delete_arrival' as const, arrivalId: 'one' }),
  { weight: 3, arbitrary: fc.constant({ kind: 'tick' as const }) },
);
const history = fc.array(fc.tuple(fc.integer({ min: 0, max: 12 }), input), { maxLength: 60 });

const isSoaking = (run: ChecklistState['runs'][number]) =>
  run.timer !== undefined && run.protocol.steps[run.step]?.kind === 'soak';

describe('any afternoon with three baths', () => {
  it('loses a soak that runs, calls early or twice, or differs after a restart', () => {
    fc.assert(
      fc.property(history, (script) => {
        let state = noRuns;
        let nowMs = 0;
        const ended = new Set<string>();
        for (const [minutes, given] of script) {
          nowMs += minutes * minute;
          const before = state;
          const result = stepChecklist(before, given, nowMs);
          const restored = JSON.parse(JSON.stringify(before)) as ChecklistState;
          expect(stepChecklist(restored, given, nowMs)).toEqual(result);
          state = result.state;
          for (const run of before.runs.filter(isSoaking)) {
            const isEnded = given.kind === 'step_done' && given.runId === run.id;
            const after = state.runs.find(({ id }) => id === run.id);
            if (!isEnded) expect(after?.timer?.endsMs).toBe(run.timer!.endsMs);
            if (given.kind === 'tick' && nowMs >= run.timer!.maximumMs! && run.timer!.maximumCalls === 0) {
              expect(
                result.events.some((event) => event.kind === 'timer' && event.runId === run.id && event.call.isLoud),
              ).toBe(true);
            }
          }
          for (const event of result.events) {
            if (event.kind !== 'timer') continue;
            const { timer } = before.runs.find(({ id }) => id === event.runId)!;
            expect(nowMs).toBeGreaterThanOrEqual(timer!.endsMs - minute);
            if (event.call.kind === 'at_maximum') expect(nowMs).toBeGreaterThanOrEqual(timer!.startedMs + 10 * minute);
            if (event.call.kind !== 'ended') continue;
            const key = `${event.runId} ${event.step} ${timer!.startedMs}`;
            expect(ended.has(key)).toBe(false);
            ended.add(key);
          }
          if (result.refused) expect(state.runs.length).toBe(before.runs.length);
        }
      }),
    );
  });

  it('ticking only when asked for misses a call that ticking each second gives', () => {
    fc.assert(
      fc.property(history, (script) => {
        const heard = (isEager: boolean) => {
          let state = noRuns;
          let nowMs = 0;
          const calls: string[] = [];
          const give = (given: ChecklistInput, atMs: number) => {
            const result = stepChecklist(state, given, atMs);
            state = result.state;
            for (const event of result.events) {
              if (event.kind === 'timer') calls.push(`${atMs / minute} ${event.runId} ${event.call.kind}`);
            }
          };
          for (const [minutes, given] of script) {
            const thenMs = nowMs + minutes * minute;
            if (isEager) {
              for (let atMs = nowMs; atMs <= thenMs; atMs += minute / 4) give({ kind: 'tick' }, atMs);
            } else {
              for (let atMs = nextTickMs(state); atMs !== undefined && atMs <= thenMs; atMs = nextTickMs(state)) {
                give({ kind: 'tick' }, Math.max(atMs, nowMs));
              }
            }
            nowMs = thenMs;
            give(given, nowMs);
          }
          return calls;
        };
        expect(heard(false)).toEqual(heard(true));
      }),
      { numRuns: 40 },
    );
  });
});
