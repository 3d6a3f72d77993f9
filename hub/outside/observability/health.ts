import type { Store } from '#adapters/ports/store.ts';
import type { RejectCounts } from '../../flow/pipeline/counters.ts';
import type { Pipeline } from '../../flow/pipeline/pipeline.ts';
import type { Health } from '../../model/answers/health-schema.ts';
import { type CauseParts, healthCauses } from './health-causes.ts';

export type HealthParts = CauseParts & {
  startedMs: number;
  pipeline: Pick<Pipeline, 'counts'>;
  rejects: Pick<RejectCounts, 'counts'>;
  store: Pick<Store, 'outboxDepth' | 'uncleanStop'>;
  storeBytes(): number;
  undated(): { held: number; dropped: number };
  /** Names in the outbox. */
  destinations: readonly string[];
  /** Entries of caches and queues in memory, by name. */
  sizes(): Record<string, number>;
};

/**
 * What is up, what is not and since when it last worked. Alive: the hub does its work; a start again would not help. Ready: it
 * is started and what it is told is stored. Anything else that is wrong degrades it and stands among the causes.
 */
export function healthOf(parts: HealthParts): Health {
  const { clock } = parts;
  const nowMs = clock.nowMs();
  const edges = parts.edges();
  const clockState = clock.state();
  const backup = parts.backups();
  const freeBytes = parts.freeBytes();
  const timers = parts.timers();
  const causes = healthCauses(parts);
  const isMoving = parts.progress.isMoving();
  return {
    status: causes.length === 0 ? 'ok' : 'degraded',
    alive: isMoving,
    ready: isMoving && parts.isStarted() && parts.storeFault() === undefined,
    causes,
    started: new Date(parts.startedMs).toISOString(),
    edges: edges.map((state) => ({
      name: state.name,
      up: state.isUp,
      last_success: state.lastSuccessMs === undefined ? null : iso(state.lastSuccessMs),
      age_seconds: state.lastSuccessMs === undefined ? null : ageS(state.lastSuccessMs, nowMs),
      error: state.lastError ?? null,
      counts: state.counts,
    })),
    readings: { ...parts.pipeline.counts, ...parts.rejects.counts() },
    outbox: Object.fromEntries(parts.destinations.map((destination) => [destination, outbox(destination)])),
    store: { bytes: parts.storeBytes(), disk_free_bytes: freeBytes ?? null },
    clock: {
      trusted: clockState.isTrusted,
      time: iso(nowMs),
      why: clockState.why ?? null,
      steps_forward: clockState.stepsForward,
      steps_back: clockState.stepsBack,
      readings_waiting: parts.undated().held,
      readings_dropped: parts.undated().dropped,
    },
    backup: {
      enabled: backup.isEnabled,
      running: backup.isRunning,
      last_success: backup.lastGoodMs === undefined ? null : iso(backup.lastGoodMs),
      age_seconds: backup.lastGoodMs === undefined ? null : ageS(backup.lastGoodMs, nowMs),
      file: backup.lastGoodFile ?? null,
      error: backup.error ?? null,
    },
    timers: timers.map(({ name, everyMs, runs, lastAgoMs, lastTookMs }) => ({
      name,
      runs,
      every_seconds: everyMs / 1000,
      last_seconds_ago: lastAgoMs === null ? null : lastAgoMs / 1000,
      last_took_seconds: lastTookMs === null ? null : lastTookMs / 1000,
    })),
    sizes: parts.sizes(),
    unclean_stop: parts.store.uncleanStop ?? null,
  };

  function outbox(destination: string): Health['outbox'][string] {
    const { waiting, parked, dropped, oldestMs } = parts.store.outboxDepth(destination);
    return { waiting, parked, dropped, oldest_age_seconds: oldestMs === undefined ? null : ageS(oldestMs, nowMs) };
  }
}

function iso(timeMs: number): string {
  return new Date(timeMs).toISOString();
}

function ageS(timeMs: number, nowMs: number): number {
  return Math.max(0, nowMs - timeMs) / 1000;
}
