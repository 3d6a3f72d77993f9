import { substances } from '#rules/dosing/substances.ts';
import { createEntries } from '../../flow/entries/enter.ts';
import { recordedProbes, recordedReadings } from '../../flow/pipeline/recorded-probes.ts';
import { createEstimator } from '../../judgement/estimate/estimator.ts';
import { readEntries } from '../../judgement/estimate/known-entries.ts';
import type { Config } from '../../model/config/schema.ts';
import { Refused } from '../../model/refusals/refused.ts';
import { type Answer, answerOf } from './answer.ts';
import type { DiaryEntry } from './diary-lines.ts';
import { createDiaryStore } from './diary-store.ts';

const dayMs = 86_400_000;

export type Diary = {
  /**
   * Takes an entry as it happened; it counts as confirmed.
   *
   * @throws Refused  as a running hub refuses it, or for a time before what was entered or asked last
   */
  enter(entry: DiaryEntry): void;
  /**
   * What the hub says of a system at a time, from what was entered until then.
   *
   * @param timeMs  UTC ms, not before what was entered or asked last
   * @throws Refused  for a system that is not configured, or a time that runs back
   */
  ask(system: string, timeMs: number): Answer;
};

/**
 * The judgement of a running hub over a diary, with the diary's clock: the same checks of entries, the same estimator and the
 * same advice, over a store in memory. Advice is never taken as carried out: an entry says so.
 */
export function openDiary(config: Config): Diary {
  const store = createDiaryStore();
  const systems = new Map(config.systems.map((system) => [system.id, system]));
  const probes = recordedProbes(config);
  let nowMs = Number.NEGATIVE_INFINITY;
  const estimator = createEstimator({ config, store, now: () => nowMs });
  const entries = createEntries({
    ...{ config, store },
    question: () => undefined,
    isKnownSubstance: (substance) => Object.hasOwn(substances, substance),
    // Only tests cost the filter time; all else is taken in by the way.
    entered: (kind, system) => kind === 'test' && estimator.takeIn(system),
  });

  function passTo(timeMs: number): void {
    if (timeMs < nowMs) {
      const [found, last] = [timeMs, nowMs].map((ms) => new Date(ms).toISOString());
      throw new Refused('out_of_range', `time: found ${found}, need ${last} or later: a diary is in order of time`);
    }
    nowMs = timeMs;
  }

  function systemOf(id: string) {
    const system = systems.get(id);
    if (system !== undefined) return system;
    throw new Refused('unknown_system', `there is no system "${id}"; there is: ${[...systems.keys()].join(', ')}`);
  }

  function read({ system, metric, value }: DiaryEntry & { kind: 'reading' }): void {
    const probe = probes.of(system, metric);
    if (typeof probe === 'string') throw new Refused('unknown_system', `no reading of ${metric} in "${system}"`);
    for (const reading of recordedReadings(probe, value, nowMs)) store.add(reading);
  }

  function arrive(entry: DiaryEntry & { kind: 'arrival' }): void {
    const { system, time: _time, key, ...body } = bodyOf(entry);
    const kept = { kind: entry.kind, timeMs: nowMs, recordedMs: nowMs, system, body };
    store.commit({ entries: [key === undefined ? kept : { ...kept, key: `arrival:${key}` }] });
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
    ask(systemId, timeMs) {
      const system = systemOf(systemId);
      passTo(timeMs);
      estimator.refresh(systemId);
      return answerOf(estimator, system, readEntries(store, systemId, nowMs - 8 * dayMs), nowMs);
    },
  };
}

/** What the HTTP API takes of the same kind. */
function bodyOf<Entry extends DiaryEntry>(entry: Entry): Omit<Entry, 'kind' | 'confirmed'> {
  const { kind: _kind, confirmed: _confirmed, ...body } = entry;
  return body;
}
