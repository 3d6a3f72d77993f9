import type { Series } from '#rules/quality/reading.ts';
import type { KeptReading, Resolution, Summary } from '../ports/store.ts';
import { newerOf, type PackedReadings } from './packed-readings.ts';
import type { RecentReadings } from './recent-readings.ts';
import type { SeriesTable } from './series-table.ts';
import type { SummaryTable } from './summary-table.ts';
import { intervalMs } from './tally.ts';
import { type KeepableReading, keptFrom, seriesKey, type WriteBuffer } from './write-buffer.ts';

export type ReadingPlaces = {
  series: SeriesTable;
  recent: RecentReadings;
  packed: PackedReadings;
  summaries: SummaryTable;
  buffer: WriteBuffer;
};

/** Readings as they are asked for: over the blocks, the log of flushes and the buffer as one, so that nobody sees which one has them. */
export function keptReadings({ series, recent, packed, summaries, buffer }: ReadingPlaces) {
  const latest = new Map<string, KeptReading | undefined>();

  /** The newest of one series. A stream may have been silent for weeks: the hour summaries say in which hour to look. */
  function lastOnDisk(seriesId: number): KeptReading | undefined {
    const hourMs = summaries.lastHourMs(seriesId);
    return newerOf(recent.last(seriesId), hourMs === undefined ? undefined : packed.lastInHour(seriesId, hourMs));
  }

  /** What is in no block yet: the log and the buffer. */
  function waitingOf(of: Series, id: number | undefined, fromMs: number, toMs: number): KeptReading[] {
    const inBuffer = [...buffer.of(of, fromMs, toMs)];
    return id === undefined ? inBuffer : [...recent.of(id, fromMs, toMs), ...inBuffer];
  }

  return {
    /** It waits in the buffer now. */
    noteNew(reading: KeepableReading): void {
      const key = seriesKey(reading.series);
      const last = latest.get(key);
      if (last && last.timeMs < reading.timeMs) latest.set(key, keptFrom(reading));
    },

    /** Readings went or changed: of one series, or of all. */
    forgetLatest(of?: Series): void {
      if (of === undefined) latest.clear();
      else latest.delete(seriesKey(of));
    },

    /** What the store answers. */
    questions: {
      series(): Series[] {
        const all = new Map(series.all().map((one) => [seriesKey(one), one]));
        for (const stream of buffer.streams()) all.set(seriesKey(stream.series), stream.series);
        return [...all.values()];
      },

      latest(of: Series): KeptReading | undefined {
        const key = seriesKey(of);
        if (!latest.has(key)) {
          const id = series.idOf(of);
          const onDisk = id === undefined ? undefined : lastOnDisk(id);
          const found = newerOf(onDisk, buffer.last(of));
          // Only known series are remembered: questions about others must not fill the memory.
          if (!found) return undefined;
          latest.set(key, found);
        }
        return latest.get(key);
      },

      readings(of: Series, fromMs: number, toMs: number, limit = Number.MAX_SAFE_INTEGER): KeptReading[] {
        const id = series.idOf(of);
        const inBlocks = id === undefined ? [] : packed.range(id, fromMs, toMs, limit);
        const waiting = waitingOf(of, id, fromMs, toMs);
        if (waiting.length === 0) return inBlocks;
        return [...inBlocks, ...waiting].sort((a, b) => a.timeMs - b.timeMs).slice(0, limit);
      },

      summaries(of: Series, resolution: Resolution, fromMs: number, toMs: number): Summary[] {
        const id = series.idOf(of);
        const waiting = waitingOf(of, id, fromMs, toMs + intervalMs[resolution]);
        return summaries.read(id, resolution, fromMs, toMs, waiting);
      },
    },
  };
}
