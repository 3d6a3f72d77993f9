import type Database from 'better-sqlite3';
import type { KeptReading } from '../ports/store.ts';
import { spanStart } from './block-table.ts';
import type { CommitLog } from './commit-log.ts';
import { withoutSync } from './connection.ts';
import type { PackedReadings } from './packed-readings.ts';
import type { RecentReadings } from './recent-readings.ts';
import type { SummaryTable } from './summary-table.ts';

/** Readings that come this late still find their span in the log, ms: a block is then written once. */
const graceMs = 300_000;

/** `commits`: what else the log has, for which there are tables too. */
type Parts = { recent: RecentReadings; packed: PackedReadings; summaries: SummaryTable; commits?: CommitLog };

/** Stands in `meta` while a packing is under way: of some series the log has what blocks have as well. */
export const packingMark = 'packing';

/**
 * Moves readings from the log into blocks when their span of time is over.
 *
 * Is: each move is one transaction, so that a kill leaves every reading in one place and its summaries with it. In steps the
 * log is cut short by the last one alone; a start amid them leaves out of the log what is in a block.
 */
export function packing(db: Database.Database, { recent, packed, summaries, commits }: Parts) {
  /** What was read inside a transaction that failed may never have been: it is read again. */
  function inTransaction(work: () => void): void {
    try {
      db.transaction(work).immediate();
    } catch (error) {
      packed.forget();
      summaries.forget();
      throw error;
    }
  }

  const mark = db.prepare(`INSERT OR IGNORE INTO meta (name, body) VALUES ('${packingMark}', '')`);
  const unmark = db.prepare(`DELETE FROM meta WHERE name = '${packingMark}'`);
  const isMarked = () => db.prepare(`SELECT 1 FROM meta WHERE name = '${packingMark}'`).get() !== undefined;
  let steps: { beforeMs: number; left: number[] } | undefined;

  /** Inside a transaction. */
  function intoBlocks(seriesId: number, readings: readonly KeptReading[]): void {
    packed.merge(seriesId, readings);
    summaries.addReadings(seriesId, readings);
  }

  function packBefore(beforeMs: number): void {
    if (recent.oldestMs >= beforeMs) return;
    inTransaction(() => {
      for (const [seriesId, readings] of recent.before(beforeMs)) intoBlocks(seriesId, readings);
      recent.removeBefore(beforeMs);
      commits?.carryOver();
      unmark.run();
    });
    recent.forgetBefore(beforeMs);
    steps = undefined;
  }

  /**
   * Packs some series, or cuts the log short when all are packed. Their blocks need not be on disk before the log is shorter,
   * and the log of the database keeps the order.
   *
   * @returns whether more is to be done
   */
  function step(isLongEnough: () => boolean): boolean {
    if (steps === undefined) return false;
    const { beforeMs, left } = steps;
    if (left.length === 0) {
      inTransaction(() => {
        recent.removeBefore(Number.MIN_SAFE_INTEGER);
        commits?.carryOver();
        unmark.run();
      });
      steps = undefined;
      return false;
    }
    const rests: [number, KeptReading[]][] = [];
    withoutSync(db, () =>
      inTransaction(() => {
        mark.run();
        for (const seriesId of left) {
          intoBlocks(seriesId, recent.of(seriesId, Number.MIN_SAFE_INTEGER, beforeMs));
          rests.push([seriesId, recent.of(seriesId, beforeMs, Number.MAX_SAFE_INTEGER)]);
          if (isLongEnough()) break;
        }
      }),
    );
    recent.replace(rests);
    steps = { beforeMs, left: left.slice(rests.length) };
    return true;
  }

  function finish(): void {
    while (step(() => false));
  }

  /** After a stop amid the steps. */
  function leaveOutPacked(): void {
    recent.replace(
      recent.seriesBefore(Number.MAX_SAFE_INTEGER).map((seriesId) => {
        const all = recent.of(seriesId, Number.MIN_SAFE_INTEGER, Number.MAX_SAFE_INTEGER);
        const inBlocks = packed.range(seriesId, all[0]!.timeMs, all.at(-1)!.timeMs + 1, Number.MAX_SAFE_INTEGER);
        const times = new Set(inBlocks.map(({ timeMs }) => timeMs));
        return [seriesId, all.filter(({ timeMs }) => !times.has(timeMs))] as const;
      }),
    );
  }

  if (isMarked()) {
    leaveOutPacked();
    // Its last step, after the next flush.
    steps = { beforeMs: Number.MIN_SAFE_INTEGER, left: [] };
  }

  return {
    packBefore,
    packAll(): void {
      finish();
      packBefore(Number.MAX_SAFE_INTEGER);
    },

    /** The same in steps: what is older than this by the time that its series has its turn. */
    begin(beforeMs: number): void {
      steps ??= { beforeMs, left: recent.seriesBefore(beforeMs) };
    },
    step,
    finish,
    isUnderWay: (): boolean => steps !== undefined,

    /** Up to when spans are over, by the newest reading. */
    completeMs: (): number => spanStart(recent.newestMs - graceMs, 'readings'),
  };
}
