import type { JournalKind } from '#adapters/ports/store.ts';
import { substances } from '#rules/dosing/substances.ts';
import { createEntries } from '../../flow/entries/enter.ts';
import { recordedProbes, recordedReadings } from '../../flow/pipeline/recorded-probes.ts';
import { createEstimator, type Estimator } from '../../judgement/estimate/estimator.ts';
import type { Config, SystemConfig } from '../../model/config/schema.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { append } from '../../model/journal/journal.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { DiaryEntry } from './diary-lines.ts';
import { createDiaryStore, type DiaryStore } from './diary-store.ts';

export type DiaryRoom = {
  store: DiaryStore;
  estimator: Estimator;
  /**
   * The diary's clock goes on to this time, UTC ms.
   *
   * @throws Refused  for a time before the one it has reached
   */
  passTo(timeMs: number): void;
  /**
   * What is found at this time, UTC ms; the diary's clock then stands where it stood.
   *
   * @throws Refused  as `passTo`
   */
  lookAt<Found>(timeMs: number, find: () => Found): Found;
  /**
   * Takes an entry as it happened; it counts as confirmed.
   *
   * @throws Refused  as a running hub refuses it, or as `passTo`
   */
  enter(entry: DiaryEntry): void;
  /** @throws Refused  for one that is not configured */
  systemOf(id: string): SystemConfig;
};

/**
 * What a running hub keeps and estimates of its systems, over a diary and with the diary's clock: the same checks of entries and
 * the same estimator, over a store in memory.
 *
 * @param entered  an entry is in the store, at the time the diary has reached
 */
export function openDiaryRoom(
  config: Config,
  entered: (kind: JournalKind, system: string, test: BodyOf<'test'> | undefined) => void,
): DiaryRoom {
  const store = createDiaryStore();
  const systems = new Map(config.systems.map((system) => [system.id, system]));
  const probes = recordedProbes(config);
  let nowMs = Number.NEGATIVE_INFINITY;
  const estimator = createEstimator({ config, store, now: () => nowMs, units: () => config.display_units });
  const entries = createEntries({
    config,
    store,
    question: () => undefined,
    isKnownSubstance: (substance) => Object.hasOwn(substances, substance),
    entered,
  });

  function passTo(timeMs: number): void {
    if (timeMs < nowMs) {
      const [found, last] = [timeMs, nowMs].map((ms) => new Date(ms).toISOString());
      throw new Refused('out_of_range', `time: found ${found}, need ${last} or later: a diary is in order of time`);
    }
    nowMs = timeMs;
  }

  function systemOf(id: string): SystemConfig {
    const system = systems.get(id);
    if (system !== undefined) return system;
    throw noSystem(id, [...systems.values()]);
  }

  function read({ system, metric, value }: DiaryEntry & { kind: 'reading' }): void {
    const probe = probes.of(system, metric);
    if (typeof probe === 'string') throw new Refused('unknown_system', `no reading of ${metric} in "${system}"`);
    for (const reading of recordedReadings(probe, value, nowMs)) store.add(reading);
  }

  function arrive(entry: DiaryEntry & { kind: 'arrival' }): void {
    const { system, event, name, pieces, key } = entry;
    const kept = { kind: entry.kind, timeMs: nowMs, recordedMs: nowMs, system, body: { event, name, pieces } };
    append(store, key === undefined ? kept : { ...kept, key: `arrival:${key}` });
    entered(entry.kind, system, undefined);
  }

  function take(entry: DiaryEntry): void {
    switch (entry.kind) {
      case 'test':
        entries.test({ ...bodyOf(entry), confirmed: true }, nowMs);
        break;
      case 'dose':
        entries.dose(bodyOf(entry), nowMs);
        break;
      case 'plan':
        entries.plan(bodyOf(entry), nowMs);
        break;
      case 'water_change':
        entries.waterChange(bodyOf(entry), nowMs);
        break;
      case 'refill':
        entries.refill(bodyOf(entry), nowMs);
        break;
      case 'arrival':
        arrive(entry);
        break;
      case 'reading':
        read(entry);
        break;
    }
  }

  return {
    store,
    estimator,
    passTo,
    systemOf,
    lookAt(timeMs, find) {
      const beforeMs = nowMs;
      passTo(timeMs);
      try {
        return find();
      } finally {
        nowMs = beforeMs;
      }
    },
    enter(entry) {
      systemOf(entry.system);
      const beforeMs = nowMs;
      passTo(Date.parse(entry.time));
      try {
        take(entry);
      } catch (error) {
        // What was refused has not happened: a wrong year must not refuse all that comes after it.
        nowMs = beforeMs;
        throw error;
      }
    },
  };
}

/** What the HTTP API takes of the same kind. */
function bodyOf<Entry extends DiaryEntry>(entry: Entry): Omit<Entry, 'kind' | 'confirmed'> {
  const { kind: _kind, confirmed: _confirmed, ...body } = entry;
  return body;
}
