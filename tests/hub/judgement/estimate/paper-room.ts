import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { JournalKind, Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { createEntries, type Entries } from '#hub/flow/entries/enter.ts';
import { evidenceSince } from '#hub/judgement/estimate/entry-evidence.ts';
import { createEstimator, type Estimator } from '#hub/judgement/estimate/estimator.ts';
import { configSchema } from '#hub/model/config/schema.ts';
import { watchedRoomFromConfig } from '#hub/model/config/watched-room.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import { emptyRoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';

export const dayMs = 86_400_000;
export const startMs = Date.UTC(2026, 0, 5, 9);

/** An invented system of 400 L whose soda plan gives 0.66136 dKH a day (worked out in containers-and-plan.test.ts). */
export const paperConfig = configSchema.parse({
  site: { name: 'Invented room' },
  systems: [
    {
      ...{ id: 'display', name: 'Display', volume_l: 400 },
      bands: {
        alkalinity: { low: 7.5, high: 9, most_per_day: 0.5 },
        calcium: { low: 400, high: 450 },
        salinity: { low: 34, high: 36, most_per_day: 0.5 },
      },
      stocks: [
        { id: 'soda', name: 'Soda solution', substance: 'sodium_carbonate', grams_per_litre: 50, container_ml: 5000 },
        { id: 'chloride', name: 'Calcium solution', substance: 'calcium_chloride', grams_per_litre: 100 },
      ],
      standing_plan: [{ stock: 'soda', ml_per_day: 100, times_per_day: 4 }],
    },
  ],
});

export type PaperRoom = {
  store: Store;
  entries: Entries;
  estimator: Estimator;
  events: AlarmEvent[];
  now(): number;
  /** With a round of the estimates after each so many hours. */
  waitDays(days: number, everyHours?: number): void;
  /** Without a round. */
  pass(minutes: number): void;
  commit(kind: JournalKind, timeMs: number, body: Record<string, unknown>): void;
  close(): void;
};

/** Entries, estimates and alarm rules over a real store and a clock that is moved by hand: no probes, no page, no broker. */
export function openPaperRoom(): PaperRoom {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-paper-'));
  let nowMs = startMs;
  const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };
  const store = openStore({ path: join(dir, 'hub.db'), flushMs: 60_000, clock, onFault: () => {} });
  const estimator = createEstimator({ config: paperConfig, store, now: () => nowMs, units: () => ({}) });
  const rules = rulesForRoom(watchedRoomFromConfig(paperConfig));
  let state = emptyRoomState();
  const events: AlarmEvent[] = [];
  const offer = (evidence: readonly Evidence[]): void => {
    for (const each of evidence) {
      const step = stepRoom(rules, state, each, nowMs);
      state = step.state;
      events.push(...step.events);
    }
  };
  let judgedEntry = 0;
  const judge = (kind: JournalKind, timeMs: number): void => {
    const entered = evidenceSince(store, paperConfig.systems[0]!, judgedEntry);
    judgedEntry = entered?.lastEntry ?? judgedEntry;
    offer([...(entered?.evidence ?? []), ...estimator.follow(kind, 'display', timeMs)]);
  };
  const entries = createEntries({
    ...{ config: paperConfig, store },
    question: (system, analyte, value, unit) => estimator.question(system, analyte, value, unit),
    isKnownSubstance: () => true,
    entered: (kind, _system, _body, timeMs) => judge(kind, timeMs),
  });
  return {
    ...{ store, entries, estimator, events, now: () => nowMs },
    waitDays(days, everyHours = 6) {
      for (let hour = 0; hour < Math.round(24 * days); hour += everyHours) {
        nowMs += everyHours * 3_600_000;
        offer([...estimator.refresh('display'), { is: 'time' }]);
      }
    },
    pass(minutes) {
      nowMs += minutes * 60_000;
    },
    commit(kind, timeMs, body) {
      store.commit({ entries: [{ kind, timeMs, recordedMs: nowMs, system: 'display', body }] });
      judge(kind, timeMs);
    },
    close() {
      store.close();
      rmSync(dir, { recursive: true, force: true });
    },
  };
}
