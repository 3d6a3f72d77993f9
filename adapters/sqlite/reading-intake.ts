import type Database from 'better-sqlite3';
import type { Reading, Series } from '#rules/quality/reading.ts';
import type { KeptReading, Resolution, RewriteChange, Summary } from '../ports/store.ts';
import type { OutboxTable } from './outbox-table.ts';
import { readingsTable } from './readings-table.ts';
import { rewriteReadings } from './rewrite-readings.ts';
import { type SeriesTable, seriesTable } from './series-table.ts';
import { asStoreError, StoreError } from './store-error.ts';
import type { StoreSettings } from './store-options.ts';
import { Batch, summaryTable } from './summary-table.ts';
import { intervalMs } from './tally.ts';
import { isKeepable, type KeepableReading, keptFrom, readingFrom, seriesKey, WriteBuffer } from './write-buffer.ts';

/** Series come from the configuration; more than this is a mistake there and would grow the file without a bound. */
const mostSeries = 10_000;

/**
 * Readings on their way to the disk and back.
 *
 * Is: a reading is visible at once, on disk after the next flush, whole or not at all; a second reading of the same
 * series and time is dropped; while the disk refuses, the newest `bufferLimit` readings wait and go down by themselves.
 * Is not: safe from a power cut between two flushes; kept when it is older than the readings deleted by age, because
 * repeats could no longer be told.
 */
export function readingIntake(db: Database.Database, outbox: OutboxTable, settings: StoreSettings) {
  const { clock, onFault } = settings;
  const series: SeriesTable = seriesTable(db);
  const readings = readingsTable(db);
  const summaries = summaryTable(db, readings);
  const meta = db.prepare<[string], { body: string }>('SELECT body FROM meta WHERE name = ?');
  const putMeta = db.prepare<[string, string]>('INSERT OR REPLACE INTO meta (name, body) VALUES (?, ?)');
  const count = db.prepare<[string, number]>(
    'INSERT INTO counters (name, count) VALUES (?, ?) ON CONFLICT DO UPDATE SET count = count + excluded.count',
  );

  const buffer = new WriteBuffer();
  const latest = new Map<string, KeptReading | undefined>();
  const droppedAtFailure = { inRun: 0, unsaved: 0 };
  const refused = new Set<string>();
  let failedFlushes = 0;
  let newestOnDiskMs: number;
  let horizonMs = Number(meta.get('readings_kept_from_ms')?.body ?? Number.MIN_SAFE_INTEGER);
  let summariesSavedMs = clock.monotonicMs();

  summaries.recover();
  newestOnDiskMs = readings.newestMs() ?? Number.MIN_SAFE_INTEGER;

  function refuse(reason: string, reading: Reading): void {
    // Once for each reason: a stream of bad readings must not become a stream of reports.
    if (refused.has(reason)) return;
    refused.add(reason);
    const { system, metric, probe } = reading.series;
    onFault({ kind: 'reading_refused', detail: `${reason}; first seen from ${system}/${metric}/${probe}.` });
  }

  function isOnDisk(reading: KeepableReading): boolean {
    if (reading.timeMs > newestOnDiskMs) return false;
    const id = series.idOf(reading.series);
    if (id === undefined) return false;
    try {
      return readings.has(id, reading.timeMs);
    } catch {
      // The disk cannot be read now. The flush asks again: it inserts only what is not there.
      return false;
    }
  }

  function reasonAgainst(reading: KeepableReading): string | undefined {
    if (!Number.isFinite(keptFrom(reading).value)) return 'A reading without a finite value';
    if (!Number.isSafeInteger(reading.timeMs)) return 'A reading without a usable time';
    if (reading.timeMs < horizonMs) return 'A reading older than those kept';
    const isKnown = series.idOf(reading.series) !== undefined;
    return !isKnown && series.count() + buffer.streamCount >= mostSeries ? `More than ${mostSeries} series` : undefined;
  }

  function take(incoming: Reading): void {
    if (!isKeepable(incoming)) return;
    // Keys are whole milliseconds: a payload may state its time more finely.
    const reading = { ...incoming, timeMs: Math.floor(incoming.timeMs) };
    const reason = reasonAgainst(reading);
    if (reason !== undefined) {
      refuse(reason, reading);
      return;
    }
    if (isOnDisk(reading) || !buffer.add(reading)) return;
    const key = seriesKey(reading.series);
    const last = latest.get(key);
    if (last && last.timeMs < reading.timeMs) latest.set(key, keptFrom(reading));
  }

  /** One transaction: readings, their mark or summaries, and what the mirror makes of them. */
  function store(): number {
    const ids = new Map<string, number>();
    for (const stream of buffer.streams()) ids.set(seriesKey(stream.series), series.ensure(stream.series));
    const batch = new Batch();
    const stored: Reading[] = [];
    const now = clock.monotonicMs();
    const isSaving = now - summariesSavedMs >= settings.summaryMs || summaries.pendingIntervals() > 50_000;
    let droppedFromOutbox = 0;
    db.transaction(() => {
      for (const stream of buffer.streams()) {
        const id = ids.get(seriesKey(stream.series))!;
        for (const reading of stream.readings) {
          const kept = keptFrom(reading);
          if (!readings.insert(id, kept)) continue;
          batch.add(id, kept);
          stored.push(reading);
        }
      }
      if (isSaving) summaries.save(batch);
      else summaries.note(batch);
      if (droppedAtFailure.unsaved > 0) count.run('readings_dropped', droppedAtFailure.unsaved);
      const item = stored.length > 0 ? mirrored(stored) : undefined;
      if (item) droppedFromOutbox = outbox.put(item, clock.nowMs());
    }).immediate();

    if (isSaving) {
      summaries.saved();
      summariesSavedMs = now;
    } else {
      summaries.noted(batch);
    }
    droppedAtFailure.unsaved = 0;
    buffer.clear();
    for (const reading of stored) newestOnDiskMs = Math.max(newestOnDiskMs, reading.timeMs);
    if (droppedFromOutbox > 0) {
      onFault({ kind: 'outbox_dropped', detail: `Outbox full: ${droppedFromOutbox} oldest items dropped.` });
    }
    return stored.length;
  }

  function mirrored(stored: Reading[]) {
    try {
      return settings.mirrorBatch(stored);
    } catch (error) {
      // The record is worth more than its mirror: the readings are stored all the same.
      onFault({ kind: 'mirror_failed', detail: `${stored.length} readings have no mirror: ${String(error)}` });
      return undefined;
    }
  }

  function holdNewest(): void {
    const dropped = buffer.keepNewest(settings.bufferLimit);
    if (dropped === 0) return;
    if (droppedAtFailure.inRun === 0) {
      onFault({ kind: 'readings_dropped', detail: `The disk refuses and memory is full: the oldest readings go.` });
    }
    droppedAtFailure.inRun += dropped;
    droppedAtFailure.unsaved += dropped;
    latest.clear();
  }

  /** @throws StoreError  when the disk refuses; the readings stay in memory */
  function flush(): void {
    if (buffer.size === 0 && !isSummaryDue() && failedFlushes === 0) return;
    try {
      const stored = store();
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

  function isSummaryDue(): boolean {
    return summaries.pendingIntervals() > 0 && clock.monotonicMs() - summariesSavedMs >= settings.summaryMs;
  }

  return {
    add(incoming: readonly Reading[]): void {
      for (const reading of incoming) take(reading);
      if (buffer.size > settings.bufferLimit * 1.1) holdNewest();
    },

    /** While the disk refuses, only the timer tries again: not every reading. */
    isFlushDue: (): boolean => buffer.size >= settings.flushEarlyAt && failedFlushes === 0,

    flush,

    /** Writes the summaries that are behind. */
    saveSummaries(): void {
      db.transaction(() => summaries.save()).immediate();
      summaries.saved();
    },

    series(): Series[] {
      const all = new Map(series.all().map((one) => [seriesKey(one), one]));
      for (const stream of buffer.streams()) all.set(seriesKey(stream.series), stream.series);
      return [...all.values()];
    },

    latest(of: Series): KeptReading | undefined {
      const key = seriesKey(of);
      if (!latest.has(key)) {
        const id = series.idOf(of);
        const onDisk = id === undefined ? undefined : readings.last(id);
        const waiting = buffer.of(of, Number.MIN_SAFE_INTEGER, Number.MAX_SAFE_INTEGER).at(-1);
        const inBuffer = waiting && keptFrom(waiting);
        const found = onDisk && inBuffer ? (inBuffer.timeMs > onDisk.timeMs ? inBuffer : onDisk) : (inBuffer ?? onDisk);
        // Only known series are remembered: questions about others must not fill the memory.
        if (!found) return undefined;
        latest.set(key, found);
      }
      return latest.get(key);
    },

    readings(of: Series, fromMs: number, toMs: number, limit = Number.MAX_SAFE_INTEGER): KeptReading[] {
      const id = series.idOf(of);
      const onDisk = id === undefined ? [] : readings.range(id, fromMs, toMs, limit);
      const waiting = buffer.of(of, fromMs, toMs).map(keptFrom);
      if (waiting.length === 0) return onDisk;
      return [...onDisk, ...waiting].sort((a, b) => a.timeMs - b.timeMs).slice(0, limit);
    },

    summaries(of: Series, resolution: Resolution, fromMs: number, toMs: number): Summary[] {
      const waiting = buffer.of(of, fromMs, toMs + intervalMs[resolution]).map(keptFrom);
      return summaries.read(series.idOf(of), resolution, fromMs, toMs, waiting);
    },

    /** Changes readings that are kept raw, from the old end; after a flush. `reached` runs in each transaction. */
    rewrite(
      of: Series,
      fromMs: number,
      toMs: number,
      change: RewriteChange,
      reached: ((reachedMs: number) => void) | undefined,
    ): number {
      const id = series.idOf(of);
      if (id === undefined) return 0;
      if (summaries.pendingIntervals() > 0) this.saveSummaries();
      let droppedFromOutbox = 0;
      const changed = (kept: readonly KeptReading[]) => {
        const item = mirrored(kept.map((reading) => readingFrom(of, reading)));
        if (item) droppedFromOutbox += outbox.put(item, clock.nowMs());
      };
      // The hour in which readings were deleted has summaries of what is gone: it cannot be computed anew.
      const span = { fromMs: Math.max(fromMs, horizonMs), toMs };
      try {
        return rewriteReadings(db, { readings, summaries }, id, span, change, { changed, reached });
      } finally {
        latest.delete(seriesKey(of));
        if (droppedFromOutbox > 0) {
          onFault({ kind: 'outbox_dropped', detail: `Outbox full: ${droppedFromOutbox} oldest items dropped.` });
        }
      }
    },

    /** Deletes raw readings; after a flush. */
    dropBefore(timeMs: number): number {
      // Summaries first: once readings are gone, the summaries of their hour cannot be computed anew.
      this.saveSummaries();
      // Up to the full hour: the rest of an hour that has lost readings takes no late ones.
      const from = Math.max(horizonMs, Math.ceil(timeMs / intervalMs.hour) * intervalMs.hour);
      const gone = db
        .transaction(() => {
          summaries.forgetChecksBefore(timeMs);
          putMeta.run('readings_kept_from_ms', String(from));
          return readings.removeBefore(timeMs);
        })
        .immediate();
      horizonMs = from;
      latest.clear();
      return gone;
    },

    newestOnDiskMs: (): number | undefined => (newestOnDiskMs === Number.MIN_SAFE_INTEGER ? undefined : newestOnDiskMs),
  };
}
