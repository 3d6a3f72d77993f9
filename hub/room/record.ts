import { join } from 'node:path';
import type { StoreFault } from '#adapters/ports/hub-adapters.ts';
import type { Store } from '#adapters/ports/store.ts';
import { createDatedStore, type DatedStore } from '../flow/clock/dated-store.ts';
import { type RoomTime, startRoomTime } from '../flow/clock/room-time.ts';
import type { Dating } from '../flow/pipeline/date-reading.ts';
import { hubName } from '../outside/fleet/hub-name.ts';
import type { Ground } from './ground.ts';
import { savesOrRefuses } from './saves-or-refuses.ts';
import { newsOfStore, savesAgain } from './store-news.ts';

/** Notices of months without a broker; the newest are kept. */
const outboxItems = 100_000;
const outboxBytes = 512 * 1024 * 1024;

export type RoomRecord = {
  /** All parts of the hub use this one: its readings have the room's dates. */
  store: Store;
  /** The same for entries, and for all that a person is answered about: what cannot be saved is refused. */
  forEntries: Store;
  forPeople: Store;
  storePath: string;
  roomTime: RoomTime;
  startedMs: number;
  dating: Dating;
  undated: DatedStore['counts'];
  /** Why readings cannot be written now; undefined while they can. */
  storeFault(): string | undefined;
  /** The end of this run. */
  close(): void;
  /** A document of this name is as it was written and cannot be used. */
  lostDocument(name: string): void;
};

/** Opens the store and begins the time of the room, which is known only when the store has said where it ends. */
export function openRecord({ config, adapters, log, clock, contained, news }: Ground): RoomRecord {
  let storeFault: string | undefined;
  const hub = hubName(config);
  const storePath = join(config.data_dir, 'brinekeep.db');
  const told = (fault: StoreFault) => news.offer(newsOfStore(fault, clock.nowMs(), config.site.timezone));
  let whyUnsaved: string | undefined;
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
      else if (fault.kind === 'files_gone') whyUnsaved = fault.detail;
      else if (fault.kind === 'saved_again') whyUnsaved = undefined;
      told(fault);
    },
    ...(config.influx === undefined ? {} : { mirrorBatch: (readings) => adapters.mirrorBatch(readings, hub) }),
  });
  whyUnsaved = opened.whyUnsaved;
  if (whyUnsaved === undefined) setImmediate(() => contained.run('store', () => savesAgain.forEach(news.offer)));
  if (opened.uncleanStop !== undefined) log.warn({ detail: opened.uncleanStop }, 'the hub was not stopped properly');
  const roomTime = startRoomTime({
    clock,
    store: opened,
    isAlwaysTrusted: config.clock.trust === 'always',
    log,
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
    store,
    storePath,
    roomTime,
    dating,
    undated: counts,
    startedMs: clock.nowMs(),
    forEntries: savesOrRefuses(store, () => whyUnsaved, 'entries'),
    forPeople: savesOrRefuses(store, () => whyUnsaved, 'all'),
    close() {
      roomTime.stop();
      store.close();
    },
    storeFault: () => whyUnsaved ?? storeFault,
    lostDocument(name) {
      log.error({ name }, 'a document of the store cannot be used; what it is about starts from nothing');
      told({ kind: 'document_damaged', detail: name, lost: [{ what: 'documents', count: 1 }] });
    },
  };
}
