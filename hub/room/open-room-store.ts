import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { FastifyBaseLogger } from 'fastify';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { Store } from '#adapters/ports/store.ts';
import { createDatedStore, type DatedStore } from '../flow/clock/dated-store.ts';
import { type RoomTime, startRoomTime } from '../flow/clock/room-time.ts';
import type { Containment } from '../flow/pipeline/containment.ts';
import type { Dating } from '../flow/pipeline/date-reading.ts';
import type { Config } from '../model/config/schema.ts';
import { hubName } from '../outside/fleet/hub-name.ts';

/** Notices of months without a broker; the newest are kept. */
const outboxItems = 100_000;
const outboxBytes = 512 * 1024 * 1024;

export type RoomStoreParts = {
  config: Config;
  adapters: Pick<HubAdapters, 'clock' | 'openStore' | 'mirrorBatch'>;
  log: FastifyBaseLogger;
  contained: Containment;
  report(name: string, isUp: boolean, detail: string): void;
};

export type RoomStore = {
  /** All parts of the hub use this one: its readings have the room's dates. */
  store: Store;
  storePath: string;
  roomTime: RoomTime;
  dating: Dating;
  undated: DatedStore['counts'];
  /** Why readings cannot be written now; undefined while they can. */
  storeFault(): string | undefined;
};

/** Opens the store and begins the time of the room, which is known only when the store has said where it ends. */
export function openRoomStore(parts: RoomStoreParts): RoomStore {
  const { config, adapters, log, contained, report } = parts;
  const { clock } = adapters;
  mkdirSync(config.data_dir, { recursive: true });
  let storeFault: string | undefined;
  const hub = hubName(config);
  const storePath = join(config.data_dir, 'brinekeep.db');
  const opened = adapters.openStore({
    path: storePath,
    flushMs: config.flush_seconds * 1000,
    packPauseMs: 40,
    outboxLimit: { items: config.influx?.most_waiting_batches ?? outboxItems, bytes: outboxBytes },
    onFault: (fault) => {
      log.error(fault, 'the store has a fault');
      if (fault.kind === 'flush_failed') storeFault = fault.detail;
      else if (fault.kind === 'flush_recovered') storeFault = undefined;
      report('store', fault.kind.endsWith('recovered'), fault.detail);
    },
    ...(config.influx === undefined ? {} : { mirrorBatch: (readings) => adapters.mirrorBatch(readings, hub) }),
  });
  if (opened.uncleanStop !== undefined) log.warn({ detail: opened.uncleanStop }, 'the hub was not stopped properly');
  const roomTime = startRoomTime({
    ...{ clock, store: opened, isAlwaysTrusted: config.clock.trust === 'always', log },
    contained: (work) => contained.run('clock', work),
  });
  const { store, freeMs, counts } = createDatedStore(
    opened,
    clock,
    {
      dropped: (count) => log.warn({ count }, 'the clock is still not set: the oldest readings without a date go'),
      undatable: (count) =>
        log.warn({ count }, 'readings of an earlier boot were never dated: their times are guesses'),
      keepFailed: (error) => log.warn({ error }, 'readings that wait for the clock could not be kept on disk'),
    },
    { keepEveryMs: config.flush_seconds * 1000 },
  );
  const dating = { isClockTrusted: () => clock.state().isTrusted, freeMs };
  return { store, storePath, roomTime, dating, undated: counts, storeFault: () => storeFault };
}
