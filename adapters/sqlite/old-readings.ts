import type Database from 'better-sqlite3';
import type { Series } from '#rules/quality/reading.ts';
import type { KeptReading, RewriteChange } from '../ports/store.ts';
import type { keptReadings, ReadingPlaces } from './kept-readings.ts';
import type { mirrorOf } from './mirrored.ts';
import type { packing } from './packing.ts';
import { rewriteReadings } from './rewrite-readings.ts';
import { intervalMs } from './tally.ts';
import { readingFrom } from './write-buffer.ts';

/** In `meta`: raw readings before this time, ms, were deleted by age. */
export const keptFromName = 'readings_kept_from_ms';

type Parts = Omit<ReadingPlaces, 'buffer'> & {
  pack: ReturnType<typeof packing>;
  mirror: ReturnType<typeof mirrorOf>;
  kept: ReturnType<typeof keptReadings>;
};

/** What changes or deletes readings that are on disk. */
export function oldReadings(db: Database.Database, { series, recent, packed, summaries, pack, mirror, kept }: Parts) {
  const meta = db.prepare<[string], { body: string }>('SELECT body FROM meta WHERE name = ?');
  const putMeta = db.prepare<[string, string]>('INSERT OR REPLACE INTO meta (name, body) VALUES (?, ?)');
  let horizonMs = Number(meta.get(keptFromName)?.body ?? Number.MIN_SAFE_INTEGER);

  return {
    /** Raw readings before this time were deleted by age; UTC milliseconds. */
    keptFromMs: (): number => horizonMs,

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
      pack.finish();
      if (recent.of(id, fromMs, toMs).length > 0) pack.packAll();
      let droppedFromOutbox = 0;
      const changed = (rewritten: readonly KeptReading[]) => {
        droppedFromOutbox += mirror.put(rewritten.map((reading) => readingFrom(of, reading)));
      };
      // The hour in which readings were deleted has summaries of what is gone: it cannot be computed again.
      const span = { fromMs: Math.max(fromMs, horizonMs), toMs };
      try {
        return rewriteReadings(db, { packed, summaries }, id, span, change, { changed, reached });
      } catch (error) {
        packed.forget();
        summaries.forget();
        throw error;
      } finally {
        kept.forgetLatest(of);
        mirror.tellOfDropped(droppedFromOutbox);
      }
    },

    /** Deletes raw readings; after a flush. */
    dropBefore(timeMs: number): number {
      // Into blocks first: once readings are gone, the summaries of their hour cannot be computed.
      pack.finish();
      if (recent.oldestMs < timeMs) pack.packAll();
      // Up to the full hour: the rest of an hour that has lost readings takes no late ones.
      const from = Math.max(horizonMs, Math.ceil(timeMs / intervalMs.hour) * intervalMs.hour);
      let gone = 0;
      try {
        db.transaction(() => {
          putMeta.run(keptFromName, String(from));
          gone = packed.removeBefore(timeMs);
        }).immediate();
      } finally {
        packed.forget();
      }
      horizonMs = from;
      kept.forgetLatest();
      return gone;
    },
  };
}
