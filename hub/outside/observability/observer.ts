import type { FastifyBaseLogger } from 'fastify';
import type { EdgeState } from '#adapters/ports/edge.ts';
import type { RoomClock } from '#adapters/ports/room-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { Containment } from '../../flow/pipeline/containment.ts';
import type { RejectCounts } from '../../flow/pipeline/counters.ts';
import type { Pipeline } from '../../flow/pipeline/pipeline.ts';
import type { Watch } from '../../judgement/watch/watch.ts';
import type { Health } from '../../model/answers/health-schema.ts';
import type { Config } from '../../model/config/schema.ts';
import type { Progress } from '../away/progress.ts';
import { type Backups, createBackups } from '../backups/backups.ts';
import { freeBytes, storeBytes } from '../backups/disk.ts';
import type { LiveClients } from '../live/live-clients.ts';
import { droppedAtEdges } from './dropped-at-edges.ts';
import { healthOf } from './health.ts';
import type { CauseParts } from './health-causes.ts';
import { createMetrics, type Metrics } from './metrics.ts';
import { watchStandstill } from './standstill.ts';
import { createTimers, type Timers } from './timers.ts';
import { createTraffic, type Traffic } from './traffic.ts';

/** The store as it was opened for the room, and what is known of it beside what it holds. */
export type ObservedStore = {
  store: Store;
  storePath: string;
  dating: { isClockTrusted(): boolean };
  undated(): { held: number; dropped: number };
  /** Why readings cannot be written now; undefined while they can. */
  storeFault(): string | undefined;
};

export type ObserverParts = {
  config: Config;
  clock: RoomClock;
  startedMs: number;
  version: string;
  room: ObservedStore;
  watch: Pick<Watch, 'standing' | 'remark'>;
  pipeline: Pick<Pipeline, 'counts'>;
  rejects: RejectCounts;
  contained: Containment;
  progress: Progress;
  log: FastifyBaseLogger;
  live: Pick<LiveClients, 'size'>;
  /** Names in the outbox. */
  destinations: readonly string[];
  deliveries: CauseParts['deliveries'];
  judging: CauseParts['judging'];
  wrongClocks: CauseParts['wrongClocks'];
  /** Why nobody can sign in. */
  doorFault(): string | undefined;
  /** None until they are made. */
  edges(): readonly EdgeState[];
  /** All of them have been opened or tried once. */
  isStarted(): boolean;
};

export type Observer = {
  health(): Health;
  metrics: Pick<Metrics, 'text' | 'contentType'>;
  measure: Traffic['measure'];
  timers: Timers;
  backups: Backups;
  stop(): Promise<void>;
};

/** Looks at all parts of the hub, for the health page and for a monitoring system, and keeps its upkeep: timers, backups. */
export function createObserver(parts: ObserverParts): Observer {
  const { config, clock, startedMs, version, room, watch, pipeline, rejects, edges, isStarted, destinations } = parts;
  const monotonicMs = () => clock.monotonicMs();
  const nowMs = () => clock.nowMs();
  const timers = createTimers(monotonicMs);
  const traffic = createTraffic(monotonicMs);
  const standstill = watchStandstill();
  const { store, storePath } = room;
  const backups = createBackups({
    config,
    store,
    storePath,
    nowMs,
    monotonicMs,
    isClockTrusted: room.dating.isClockTrusted,
    log: parts.log,
    failed: (line) => watch.remark({ key: `backup#${nowMs()}`, priority: 'low', line }, nowMs()),
  });
  const bytes = () => storeBytes(storePath);
  const free = () => freeBytes(config.data_dir);
  const standing = () => watch.standing(clock.nowMs());
  const droppedByStage = () => {
    const { accepted: _accepted, ...dropped } = pipeline.counts;
    return dropped;
  };
  const metrics = createMetrics({
    startedMs,
    version,
    store,
    traffic,
    edges,
    standing,
    destinations,
    nowMs,
    // The cause alone: a stranger can make up sources without end.
    dropped: () => ({ ...droppedByStage(), ...droppedAtEdges(edges()) }),
    accepted: () => pipeline.counts.accepted,
    clock: () => clock.state(),
    undated: room.undated,
    backups: () => backups.state(),
    storeBytes: bytes,
    freeBytes: free,
    openPages: () => parts.live.size(),
    faults: () => parts.contained.counts(),
  });
  return {
    metrics,
    timers,
    backups,
    measure: traffic.measure,
    async stop() {
      timers.stop();
      metrics.stop();
      standstill.stop();
      await backups.stop();
    },
    health: () =>
      healthOf({
        startedMs,
        clock,
        edges,
        isStarted,
        pipeline,
        rejects,
        store,
        storeFault: room.storeFault,
        destinations,
        standing,
        deliveries: parts.deliveries,
        judging: parts.judging,
        progress: parts.progress,
        doorFault: parts.doorFault,
        wrongClocks: parts.wrongClocks,
        // What the start itself takes is told by `start`.
        stoodStillMs: () => (isStarted() ? standstill.longestMs() : 0),
        storeBytes: bytes,
        freeBytes: free,
        undated: room.undated,
        backups: () => backups.state(),
        timers: timers.list,
        sizes: () => ({
          series: store.series().length,
          standing_alarms: standing().length,
          open_pages: parts.live.size(),
          reject_names: Object.keys(rejects.counts()).length,
          sources: traffic.bySource().size,
          undated_readings: room.undated().held,
        }),
      }),
  };
}
