import type Database from 'better-sqlite3';
import type { KeptReading } from '../ports/store.ts';
import { spanMs, spanStart } from './block-table.ts';
import type { OldRows } from './old-rows.ts';
import type { PackedReadings } from './packed-readings.ts';
import type { RecentReadings } from './recent-readings.ts';
import type { StoreFault } from './store-options.ts';
import { resolutions, type SummaryTable } from './summary-table.ts';
import { startOf } from './tally.ts';

/** Readings that come this late still find their span in the log, ms: a block is then written once. */
const graceMs = 300_000;

type Parts = { recent: RecentReadings; packed: PackedReadings; summaries: SummaryTable; old: OldRows };

/**
 * Moves readings into blocks: those of the log when their span of time is over, and the rows of an earlier schema.
 *
 * Is: each move is one transaction, so that a kill leaves every reading in one place and its summaries with it.
 * Is not: done in one go for a store of an earlier schema; until its last step the rows are read where they are.
 */
export function packing(
  db: Database.Database,
  { recent, packed, summaries, old }: Parts,
  onFault: (fault: StoreFault) => void,
) {
  /** What was read inside a transaction that failed may never have been: it is read again. */
  function inTransaction(work: () => void): void {
    try {
      db.transaction(work).immediate();
    } catch (error) {
      packed.forget();
      summaries.forget();
      old.look();
      throw error;
    }
  }

  function packBefore(beforeMs: number): void {
    if (recent.oldestMs >= beforeMs) return;
    inTransaction(() => {
      for (const [seriesId, readings] of recent.before(beforeMs)) {
        packed.merge(seriesId, readings);
        summaries.addReadings(seriesId, readings);
      }
      recent.removeBefore(beforeMs);
    });
    recent.forgetBefore(beforeMs);
  }

  /** Hours whose summaries a stop of version 1 left behind: their readings go to the log, and are summarised from there. */
  function takeInHoursBehind(): void {
    const back: [number, KeptReading[]][] = [];
    inTransaction(() => {
      const ids = db.prepare<[], { id: number }>('SELECT id FROM series').all();
      for (const hourMs of old.takeHoursBehind()) {
        for (const { seriesId, reading } of old.takeHour(hourMs).rows) back.push([seriesId, [reading]]);
        for (const { id } of ids) {
          for (const resolution of resolutions) old.removeSummaries(id, resolution, hourMs, hourMs + 3_600_000);
        }
      }
      if (back.length > 0) recent.append(back);
    });
    recent.add(back);
    old.look();
  }

  if (!old.isEmpty()) takeInHoursBehind();

  return {
    packBefore,
    packAll: (): void => packBefore(Number.MAX_SAFE_INTEGER),

    /** Up to when spans are over, by the newest reading. */
    completeMs: (): number => spanStart(recent.newestMs - graceMs, 'readings'),

    /** One step of moving the rows of an earlier schema. False when there are none left. */
    upgradeStep(): boolean {
      const firstMs = old.firstMs();
      if (firstMs !== undefined) {
        inTransaction(() => packed.packOldHour(startOf(firstMs, 'hour')));
        old.look();
        return !old.isEmpty();
      }
      for (const resolution of resolutions) {
        const first = old.firstSummary(resolution);
        if (first === undefined) continue;
        const fromMs = spanStart(first.startMs, resolution);
        let changed = 0;
        inTransaction(() => {
          const taken = old.takeSummaries(first.seriesId, resolution, fromMs, fromMs + spanMs[resolution]);
          summaries.mergeTallies(first.seriesId, resolution, taken.tallies);
          changed = taken.changed;
        });
        if (changed > 0) {
          const at = `${changed} ${resolution} summaries of series ${first.seriesId} after ${new Date(fromMs).toISOString()}`;
          onFault({ kind: 'damaged', detail: `${at} have changed on disk and are left out.` });
        }
        break;
      }
      old.look();
      return !old.isEmpty();
    },
  };
}
