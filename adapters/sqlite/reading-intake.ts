import type Database from 'better-sqlite3';
import type { Reading } from '#rules/quality/reading.ts';
import type { KeptReading } from '../ports/store.ts';
import type { CommitLog } from './commit-log.ts';
import type { DocumentTable } from './document-table.ts';
import { keptReadings } from './kept-readings.ts';
import { mirrorOf } from './mirrored.ts';
import { oldReadings } from './old-readings.ts';
import type { OutboxTable } from './outbox-table.ts';
import { packSchedule } from './pack-schedule.ts';
import { packedReadings } from './packed-readings.ts';
import { packing } from './packing.ts';
import { recentReadings } from './recent-readings.ts';
import { flawOf, refusedReadings } from './refused-readings.ts';
import { type SeriesTable, seriesTable } from './series-table.ts';
import type { SideFile } from './side-file.ts';
import { asStoreError, StoreError } from './store-error.ts';
import type { StoreSettings } from './store-options.ts';
import { summaryTable } from './summary-table.ts';
import { isKeepable, type KeepableReading, readingFrom, WriteBuffer } from './write-buffer.ts';

/** Series come from the configuration; more is a mistake there and would grow the file without a bound. */
const mostSeries = 10_000;

/** So few readings go with a commit, and spare the card a flush of their own; more would make an alarm late. */
const mostWithCommit = 300;

/**
 * Readings on their way to the disk and back. Is: a reading is visible at once, on disk after the next flush, whole or not
 * at all; a second reading of the same series and time is dropped; while the disk refuses, the newest `bufferLimit` readings
 * wait and go down by themselves.
 * It goes through three places: the write buffer (memory), the log of flushes (disk and memory), a block (disk).
 * Is not: safe from a power cut between two flushes, though from a kill of the process by its side file; kept when it is older
 * than the readings deleted by age, because repeats could no longer be told.
 */
export function readingIntake(
  db: Database.Database,
  outbox: OutboxTable,
  documents: DocumentTable,
  commits: CommitLog,
  settings: StoreSettings,
  side?: SideFile,
) {
  const { onFault } = settings;
  const series: SeriesTable = seriesTable(db);
  const recent = recentReadings(db, onFault);
  const packed = packedReadings(db, onFault);
  const summaries = summaryTable(db, onFault);
  const pack = packing(db, { recent, packed, summaries, commits });
  const schedule = packSchedule(pack, recent, settings);
  const count = db.prepare<[string, number]>(
    'INSERT INTO counters (name, count) VALUES (?, ?) ON CONFLICT DO UPDATE SET count = count + excluded.count',
  );

  const mirror = mirrorOf(outbox, settings);
  const buffer = new WriteBuffer();
  const kept = keptReadings({ series, recent, packed, summaries, buffer });
  const old = oldReadings(db, { series, recent, packed, summaries, pack, mirror, kept });
  const droppedAtFailure = { inRun: 0, unsaved: 0 };
  const refuse = refusedReadings(onFault);
  let failedFlushes = 0;
  let newestOnDiskMs = Math.max(recent.newestMs, packed.newestMs() ?? Number.MIN_SAFE_INTEGER);

  function has(seriesId: number, timeMs: number): boolean {
    return timeMs <= newestOnDiskMs && (recent.has(seriesId, timeMs) || packed.has(seriesId, timeMs));
  }

  function isOnDisk(reading: KeepableReading): boolean {
    const id = series.idOf(reading.series);
    if (id === undefined) return false;
    try {
      return has(id, reading.timeMs);
    } catch {
      // The disk cannot be read now. The flush asks again: it stores only what is not there.
      return false;
    }
  }

  function reasonAgainst(reading: KeepableReading): string | undefined {
    const flaw = flawOf(reading);
    if (flaw !== undefined) return flaw;
    if (reading.timeMs < old.keptFromMs()) return 'A reading older than those kept';
    const isKnown = series.idOf(reading.series) !== undefined;
    return !isKnown && series.count() + buffer.streamCount >= mostSeries ? `More than ${mostSeries} series` : undefined;
  }

  /** Gives what waits for the next flush now, and did not before. */
  function take(incoming: Reading): KeepableReading | undefined {
    if (!isKeepable(incoming)) return undefined;
    // Keys are whole milliseconds: a payload may state its time more finely.
    const timeMs = Math.floor(incoming.timeMs);
    const reading = timeMs === incoming.timeMs ? incoming : { ...incoming, timeMs };
    const reason = reasonAgainst(reading);
    if (reason !== undefined) {
      refuse(reason, reading);
      return undefined;
    }
    if (isOnDisk(reading) || !buffer.add(reading)) return undefined;
    kept.noteNew(reading);
    return reading;
  }

  /** Of a process that was killed: how many readings it had that were not in the store. */
  const left = side?.left();
  const tookOver = (left?.readings ?? []).filter((reading) => take(reading) !== undefined).length;
  outbox.deliveredBefore(left?.delivered ?? []);

  type Flushing = { added: [number, KeptReading[]][]; stored: Reading[]; droppedFromOutbox: number };

  /** What of the buffer is not on disk yet. */
  function waitingReadings(): Flushing {
    const added: Flushing['added'] = [];
    const stored: Reading[] = [];
    series.ensure([...buffer.streams()].map((stream) => stream.series));
    for (const stream of buffer.streams()) {
      const id = series.idOf(stream.series)!;
      const isNew = stream.readings.all().filter(({ timeMs }) => !has(id, timeMs));
      added.push([id, isNew]);
      for (const reading of isNew) stored.push(readingFrom(stream.series, reading));
    }
    return { added, stored, droppedFromOutbox: 0 };
  }

  /** Inside a transaction: readings, what the mirror makes of them, and the documents that waited for it. */
  function put(flushing: Flushing): void {
    if (flushing.stored.length > 0) recent.append(flushing.added);
    const waiting = documents.putWaiting();
    outbox.removeDelivered();
    if (droppedAtFailure.unsaved > 0) count.run('readings_dropped', droppedAtFailure.unsaved);
    flushing.droppedFromOutbox = mirror.put(flushing.stored);
    commits.note(waiting);
    if (commits.isLong()) commits.settle();
  }

  /** When its transaction is through. */
  function forgetWaiting({ added, droppedFromOutbox }: Flushing): void {
    droppedAtFailure.unsaved = 0;
    buffer.clear();
    side?.empty();
    documents.forgetWaiting();
    outbox.forgetDelivered();
    recent.add(added);
    newestOnDiskMs = Math.max(newestOnDiskMs, recent.newestMs);
    mirror.tellOfDropped(droppedFromOutbox);
  }

  /** One transaction. */
  function store(): number {
    const flushing = waitingReadings();
    db.transaction(() => put(flushing)).immediate();
    forgetWaiting(flushing);
    return flushing.stored.length;
  }

  function holdNewest(): void {
    const dropped = buffer.keepNewest(settings.bufferLimit);
    if (dropped === 0) return;
    if (droppedAtFailure.inRun === 0) {
      onFault({ kind: 'readings_dropped', detail: `The disk refuses and memory is full: the oldest readings go.` });
    }
    droppedAtFailure.inRun += dropped;
    droppedAtFailure.unsaved += dropped;
    kept.forgetLatest();
  }

  /** @throws StoreError  when the disk refuses; the readings stay in memory */
  function flush(): void {
    const isAnyWaiting = buffer.size > 0 || documents.isAnyWaiting() || outbox.isAnyDelivered();
    if (!isAnyWaiting && !commits.isLong() && !schedule.isDue() && failedFlushes === 0) return;
    try {
      const stored = store();
      schedule.packIfDue();
      if (failedFlushes > 0) {
        const lost = droppedAtFailure.inRun === 0 ? 'none lost' : `${droppedAtFailure.inRun} lost`;
        onFault({ kind: 'flush_recovered', detail: `Readings are stored after ${failedFlushes} failures, ${lost}.` });
      }
      failedFlushes = 0;
      droppedAtFailure.inRun = 0;
      settings.onFlushed(stored);
    } catch (error) {
      outbox.remeasure();
      const known = asStoreError(error, 'Storing readings');
      if (!(known instanceof StoreError)) throw error;
      failedFlushes += 1;
      if (failedFlushes === 1) onFault({ kind: 'flush_failed', detail: known.message });
      holdNewest();
      throw known;
    }
  }

  return {
    add(incoming: readonly Reading[]): void {
      for (const one of incoming) {
        const waiting = take(one);
        if (waiting !== undefined) side?.add(waiting);
      }
      if (buffer.size > settings.bufferLimit * 1.1) holdNewest();
    },

    tookOver,

    /** While the disk refuses, only the timer tries again: not every reading. */
    isFlushDue: (): boolean => buffer.size >= settings.flushEarlyAt && failedFlushes === 0,
    flush,

    /**
     * Work in a transaction, and with it the readings that wait, where they are few: two transactions within one time between flushes cost
     * the card a third more than one. Documents that wait go with it in any case: one that the work stores may name one of them, and
     * would say nothing without it after a kill.
     *
     * @returns whether they went with it: then nothing has to be flushed before the next time has passed
     */
    withReadings<Result>(work: () => Result): { result: Result; isFlushed: boolean } {
      const isFew = buffer.size > 0 && buffer.size <= mostWithCommit && failedFlushes === 0;
      const flushing = isFew ? waitingReadings() : undefined;
      const result = db
        .transaction(() => {
          // First: what waits is older than what the work stores.
          if (flushing !== undefined) put(flushing);
          else commits.note(documents.putWaiting());
          return work();
        })
        .immediate();
      if (flushing === undefined) {
        documents.forgetWaiting();
        return { result, isFlushed: false };
      }
      forgetWaiting(flushing);
      settings.onFlushed(flushing.stored.length);
      return { result, isFlushed: true };
    },
    isPackingDue: (): boolean => schedule.isDue(),
    packStep: (): boolean => schedule.step(),
    isPacking: (): boolean => pack.isUnderWay(),
    /** All that is left of it. */
    finishPacking: (): void => pack.finish(),

    ...kept.questions,
    rewrite: old.rewrite,
    dropBefore: old.dropBefore,

    newestMs(): number | undefined {
      const waiting = [...buffer.streams()].map(({ readings }) => readings.last()!.timeMs);
      const newestMs = Math.max(newestOnDiskMs, ...waiting);
      return newestMs === Number.MIN_SAFE_INTEGER ? undefined : newestMs;
    },
  };
}
