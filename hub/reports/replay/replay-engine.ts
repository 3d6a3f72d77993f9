import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import { emptyRoomState, type RoomRules, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import { hourMs } from '#rules/clock/durations.ts';
import type { Reading } from '#rules/quality/reading.ts';
import { createCarbonateStage } from '../../flow/pipeline/derive-carbonate.ts';
import { recordedProbes, recordedReadings } from '../../flow/pipeline/recorded-probes.ts';
import { evidenceSince } from '../../judgement/estimate/entry-evidence.ts';
import type { Config } from '../../model/config/schema.ts';
import { watchedRoomFromConfig } from '../../model/config/watched-room.ts';
import type { DiaryEntry } from '../advise/diary-lines.ts';
import { openDiaryRoom } from '../advise/diary-room.ts';

/** The live hub ticks every five seconds; recorded time passes in steps that a delay of a minute still sees well. */
const tickMs = 15_000;
/** As often as the live hub looks at its estimates again. */
const estimateEveryMs = hourMs;

export type Replay = {
  /** Readings must come in order of time; one that is late is judged at the time the replay has reached. */
  reading(timeMs: number, system: string, metric: string, value: number): void;
  /**
   * What a person entered, in order of time with the readings.
   *
   * @throws Refused  as a running hub refuses it, or for a time that runs back
   */
  enter(entry: DiaryEntry): void;
  /** Lets recorded time pass up to here. */
  passTo(timeMs: number): void;
  counts: { readings: number; unknownSystem: number; unknownMetric: number };
};

/**
 * Recorded readings and entries through the pipeline's own stages, the estimator and the very same rules, with the recorded
 * clock.
 */
export function createReplay(config: Config, onEvents: (events: readonly AlarmEvent[]) => void): Replay {
  const rules: RoomRules = rulesForRoom(watchedRoomFromConfig(config));
  let state: RoomState = emptyRoomState();
  let reachedMs = Number.NEGATIVE_INFINITY;
  let enteredMs = Number.NEGATIVE_INFINITY;
  const counts = { readings: 0, unknownSystem: 0, unknownMetric: 0 };
  const probes = recordedProbes(config);
  /** Systems with an entry: without one there is nothing to estimate. */
  const entered = new Set<string>();
  const judgedEntry = new Map<string, number>();
  const room = openDiaryRoom(config, (_kind, system) => {
    entered.add(system);
    const found = evidenceSince(room.store, room.systemOf(system), judgedEntry.get(system) ?? 0);
    if (found !== undefined) judgedEntry.set(system, found.lastEntry);
    for (const evidence of [...(found?.evidence ?? []), ...room.estimator.judge(system)]) step(evidence, enteredMs);
  });
  const carbonate = createCarbonateStage(config, room.estimator.testedWater);

  function step(evidence: Evidence, atMs: number): void {
    const result = stepRoom(rules, state, evidence, atMs);
    state = result.state;
    if (result.events.length > 0) onEvents(result.events);
  }

  function judgeEntered(): void {
    room.passTo(reachedMs);
    for (const system of entered) for (const evidence of room.estimator.judge(system)) step(evidence, reachedMs);
  }

  function passTo(timeMs: number): void {
    if (reachedMs === Number.NEGATIVE_INFINITY) reachedMs = timeMs;
    while (timeMs - reachedMs >= tickMs) {
      reachedMs += tickMs;
      if (entered.size > 0 && reachedMs % estimateEveryMs < tickMs) judgeEntered();
      step({ is: 'time' }, reachedMs);
    }
  }

  function judgeReading(reading: Reading, atMs: number): void {
    step({ is: 'reading', reading }, atMs);
    if (entered.size > 0)
      for (const derived of carbonate.readingsFrom(reading)) step({ is: 'reading', reading: derived }, atMs);
  }

  function reading(timeMs: number, system: string, metric: string, value: number): void {
    const probe = probes.of(system, metric);
    if (probe === 'unknown_system') {
      counts.unknownSystem += 1;
      return;
    }
    if (probe === 'unknown_metric') {
      counts.unknownMetric += 1;
      return;
    }
    passTo(timeMs);
    const atMs = Math.max(timeMs, reachedMs);
    for (const each of recordedReadings(probe, value, timeMs)) judgeReading(each, atMs);
    counts.readings += 1;
  }

  return {
    counts,
    passTo,
    reading,
    enter(entry) {
      const timeMs = Date.parse(entry.time);
      if (entry.kind === 'reading') {
        reading(timeMs, entry.system, entry.metric, entry.value);
        return;
      }
      passTo(timeMs);
      enteredMs = timeMs;
      room.enter(entry);
    },
  };
}
