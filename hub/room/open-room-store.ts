import { join } from 'node:path';
import type { FastifyBaseLogger } from 'fastify';
import type { HubAdapters, StoreFault } from '#adapters/ports/hub-adapters.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { EdgeEvidence } from '#rules/bands/evidence.ts';
import { createDatedStore, type DatedStore } from '../flow/clock/dated-store.ts';
import { type RoomTime, startRoomTime } from '../flow/clock/room-time.ts';
import type { Containment } from '../flow/pipeline/containment.ts';
import type { Dating } from '../flow/pipeline/date-reading.ts';
import type { Config } from '../model/config/schema.ts';
import { hubName } from '../outside/fleet/hub-name.ts';
import { newsOfStore, savesAgain } from './store-news.ts';

/** Notices of months without a broker; the newest are kept. */
const outboxItems = 100_000;
const outboxBytes = 512 * 1024 * 1024;

export type RoomStoreParts = {
  config: Config;
  adapters: Pick<HubAdapters, 'clock' | 'openStore' | 'mirrorBatch'>;
  log: FastifyBaseLogger;
  contained: Containment;
  /** Is told in a turn of its own. */
  tell(news: EdgeEvidence): void;
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
  /** A document of this name is as it was written and cannot be used. */
  lostDocument(name: string): void;
};

/** Opens the store and begins the time of the room, which is known only when the store has said where it ends. */
export function openRoomStore(parts: RoomStoreParts): RoomStore {
  const { config, adapters, log, contained, tell } = parts;
  const { clock } = adapters;
  let storeFault: string | undefined;
  const hub = hubName(config);
  const storePath = join(config.data_dir, 'brinekeep.db');
  const told = (fault: StoreFault) => tell(newsOfStore(fault, clock.nowMs(), config.site.timezone));
  const opened = adapters.openStore({
    path: storePath,
    isInAnyCase: true,
    flushMs: config.flush_seconds * 1000,
    packPauseMs: 40,
    outboxLimit: { items: config.influx?.most_waiting_batches ?? outboxItems, bytes: outboxBytes },
    onFault: (fault) => {
      log.error(fault, 'the store has a fault');
      if (fault.kind === 'flush_failed') storeFault = fault.detail;
      else if (fault.kind === 'flush_recovered') storeFault = undefined;
      told(fault);
    },
    ...(config.influx === undefined ? {} : { mirrorBatch: (readings) => adapters.mirrorBatch(readings, hub) }),
  });
  const { whyUnsaved } = opened;
  if (whyUnsaved === undefined) setImmediate(() => contained.run('store', () => savesAgain.forEach(tell)));
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
  return {
    ...{ store, storePath, roomTime, dating, undated: counts },
    storeFault: () => whyUnsaved ?? storeFault,
    lostDocument(name) {
      log.error({ name }, 'a document of the store cannot be used; what it is about begins anew');
      told({ kind: 'document_damaged', detail: name, lost: [{ what: 'documents', count: 1 }] });
    },
  };
}
