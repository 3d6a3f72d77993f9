import { copyFileSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { systemClock } from '#adapters/clock/system-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { createJudging } from '#hub/judgement/watch/judging.ts';
import { createRulesMemory } from '#hub/judgement/watch/rules-memory.ts';
import { createWatch } from '#hub/judgement/watch/watch.ts';
import { watchedRoomFromConfig } from '#hub/model/config/watched-room.ts';
import { rulesForRoom } from '#rules/bands/room.ts';
import { configOf, roomText } from '../../../servers/hub-process.ts';
import { usualSettings } from '../notices/alarm-script.ts';

const startMs = Date.UTC(2026, 2, 10, 12);
const config = configOf(roomText('/nowhere'));
const rules = rulesForRoom(watchedRoomFromConfig(config));

/** One run of the hub, as far as entries and rules go, over the real store. */
function life(path: string, now: () => number) {
  const store = openStore({ path, flushMs: 3_600_000, clock: systemClock });
  const watch = createWatch(store, rules, usualSettings, {
    stateItems: (event) => [{ destination: 'mqtt', key: `state:${event.alarm}#${event.timeMs}`, payload: '' }],
    lineItems: (message) => [{ destination: 'mqtt', key: `phone:${message.key}`, payload: message.line }],
    textOf: ({ message }) => message,
    canReach: () => true,
    wakeAt: () => {},
    soon: () => {},
    announced: () => {},
    unstored: () => {},
  });
  const judging = createJudging({ config, store, watch, now, monotonicMs: now, contained: (work) => work() });
  judging.catchUp();
  return { store, watch, judging };
}

function remembered(store: Store) {
  const { analytes } = createRulesMemory(store).restored();
  const alkalinity = analytes.find(({ metric }) => metric === 'alkalinity');
  return { tests: alkalinity?.tests ?? [], doses: alkalinity?.doses ?? [] };
}

const steps = fc.constantFrom('test', 'dose', 'judge', 'keep', 'flush', 'kill', 'stop');

test('a kill between journal and rules loses an entry for the rules, or gives a dose to them twice', () => {
  const folder = mkdtempSync(join(tmpdir(), 'brinekeep-judging-'));
  let files = 0;
  const newPath = () => {
    files += 1;
    return join(folder, `${files}.db`);
  };
  try {
    fc.assert(
      fc.property(fc.array(steps, { maxLength: 25 }), (schedule) => {
        let nowMs = startMs;
        let path = newPath();
        let hub = life(path, () => nowMs);
        const kept = { tests: [] as number[], doses: [] as number[] };
        for (const step of schedule) {
          nowMs += 60_000;
          const entry = { timeMs: nowMs, recordedMs: nowMs, system: 'display' };
          if (step === 'test') {
            const value = 7 + kept.tests.length;
            hub.store.commit({ entries: [{ ...entry, kind: 'test', body: { analyte: 'alkalinity', value } }] });
            kept.tests.push(value);
          } else if (step === 'dose') {
            const body = { substance: 'sodium_bicarbonate', grams: 1 };
            hub.store.commit({ entries: [{ ...entry, kind: 'dose', body }] });
            kept.doses.push(nowMs);
          } else if (step === 'judge') hub.judging.entered('display');
          else if (step === 'keep') hub.watch.keep(nowMs);
          else if (step === 'flush') hub.store.flush();
          else if (step === 'stop') {
            hub.watch.keepAll(nowMs);
            hub.store.close();
            hub = life(path, () => nowMs);
          } else {
            // What a killed process leaves: the files as they lie.
            const copy = newPath();
            for (const suffix of ['', '-wal'])
              if (existsSync(path + suffix)) copyFileSync(path + suffix, copy + suffix);
            hub.store.close();
            path = copy;
            hub = life(path, () => nowMs);
          }
        }
        hub.judging.entered('display');
        hub.watch.keepAll(nowMs);
        const { tests, doses } = remembered(hub.store);
        hub.store.close();
        expect(tests.map(({ value }) => value)).toEqual(kept.tests.slice(-12));
        expect(doses.map(({ timeMs }) => timeMs)).toEqual(kept.doses);
      }),
      { numRuns: 50, seed: 18 },
    );
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});
