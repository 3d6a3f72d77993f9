import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import { emptyRoomState, type RoomRules, type RoomState, rulesForRoom, stepRoom } from '#rules/bands/room.ts';
import { recordedProbes, recordedReadings } from '../../flow/pipeline/recorded-probes.ts';
import type { Config } from '../../model/config/schema.ts';
import { watchedRoomFromConfig } from '../../model/config/watched-room.ts';

/** The live hub ticks every five seconds; recorded time passes in steps that a delay of a minute still sees well. */
const tickMs = 15_000;

export type Replay = {
  /** Readings must come in order of time; one that is late is judged at the time the replay has reached. */
  reading(timeMs: number, system: string, metric: string, value: number): void;
  offer(evidence: Evidence, timeMs: number): void;
  /** Lets recorded time pass up to here. */
  passTo(timeMs: number): void;
  counts: { readings: number; unknownSystem: number; unknownMetric: number };
};

/**
 * Recorded readings through the pipeline's own stages and the very same rules, with the recorded clock.
 */
export function createReplay(config: Config, onEvents: (events: readonly AlarmEvent[]) => void): Replay {
  const rules: RoomRules = rulesForRoom(watchedRoomFromConfig(config));
  let state: RoomState = emptyRoomState();
  let reachedMs = Number.NEGATIVE_INFINITY;
  const counts = { readings: 0, unknownSystem: 0, unknownMetric: 0 };
  const probes = recordedProbes(config);

  function step(evidence: Evidence, nowMs: number): void {
    const result = stepRoom(rules, state, evidence, nowMs);
    state = result.state;
    if (result.events.length > 0) onEvents(result.events);
  }

  function passTo(timeMs: number): void {
    if (reachedMs === Number.NEGATIVE_INFINITY) reachedMs = timeMs;
    while (timeMs - reachedMs >= tickMs) {
      reachedMs += tickMs;
      step({ is: 'time' }, reachedMs);
    }
  }

  return {
    counts,
    passTo,
    reading(timeMs, system, metric, value) {
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
      const nowMs = Math.max(timeMs, reachedMs);
      for (const reading of recordedReadings(probe, value, timeMs)) step({ is: 'reading', reading }, nowMs);
      counts.readings += 1;
    },
    offer(evidence, timeMs) {
      passTo(timeMs);
      step(evidence, Math.max(timeMs, reachedMs));
    },
  };
}
