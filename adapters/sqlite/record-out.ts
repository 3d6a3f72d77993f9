import type Database from 'better-sqlite3';
import type { Series } from '#rules/quality/reading.ts';
import type { Clock } from '../ports/edge.ts';
import type { IntervalTally, RecordPart } from '../ports/whole-record.ts';
import { spanMs, summaryBlocks } from './block-table.ts';
import { settleLeft } from './commit-log.ts';
import { documentTable } from './document-table.ts';
import { journalTable } from './journal-table.ts';
import { keptFromName } from './old-readings.ts';
import { openSound } from './open-sound.ts';
import { packedReadings } from './packed-readings.ts';
import { packing } from './packing.ts';
import { recentReadings } from './recent-readings.ts';
import { seriesTable } from './series-table.ts';
import type { StoreFault } from './store-options.ts';
import { resolutions, summaryTable } from './summary-table.ts';
import type { Tally } from './tally.ts';

/** Readings that are in memory at a time; the table of blocks makes one of them again, whatever their number. */
const mostReadings = 20_000;

/**
 * All that a store has, from a copy of it.
 *
 * Is: what is handed on is what was written: a row that a flipped bit has changed is left out and told.
 * Is not: what waits to be sent, and the counters of what was dropped. Those are the hub's and not the room's.
 */
export function* readRecord(
  copyPath: string,
  clock: Clock,
  onDamage: (sentence: string) => void,
): Generator<RecordPart, void, undefined> {
  const onFault = ({ detail }: StoreFault) => onDamage(detail);
  const db = openSound(copyPath, clock, onFault, (opened) => opened);
  try {
    yield* partsOf(db, onFault);
  } finally {
    db.close();
  }
}

function* partsOf(db: Database.Database, onFault: (fault: StoreFault) => void): Generator<RecordPart, void, undefined> {
  settleLeft(db);
  const recent = recentReadings(db, onFault);
  const packed = packedReadings(db, onFault);
  // What waits in the log has no summaries yet.
  packing(db, { recent, packed, summaries: summaryTable(db, onFault) }).packAll();

  const keptFrom = db.prepare<[string], { body: string }>('SELECT body FROM meta WHERE name = ?').get(keptFromName);
  if (keptFrom !== undefined) yield { part: 'kept_from', timeMs: Number(keptFrom.body) };
  for (const entry of journalTable(db, onFault).everyEntry()) yield { part: 'entry', entry };
  for (const document of documentTable(db, onFault).all()) yield { part: 'document', ...document };

  const table = seriesTable(db);
  const all = table.all().toSorted(bySeries);
  for (const series of all) {
    const id = table.idOf(series)!;
    for (const readings of packed.blocks(id)) {
      for (let from = 0; from < readings.length; from += mostReadings)
        yield { part: 'readings', series, readings: readings.slice(from, from + mostReadings) };
    }
  }
  for (const resolution of resolutions) {
    const blocks = summaryBlocks(db, resolution, onFault);
    for (const series of all) {
      const from = Number.MIN_SAFE_INTEGER + spanMs[resolution];
      for (const block of blocks.range(table.idOf(series)!, from, Number.MAX_SAFE_INTEGER))
        yield { part: 'tallies', series, resolution, tallies: block.map(intervalOf) };
    }
  }
}

function intervalOf([startMs, { count, failed, min, max, sum, worst }]: readonly [number, Tally]): IntervalTally {
  const isEmpty = count === 0;
  return { startMs, count, failed, min: isEmpty ? undefined : min, max: isEmpty ? undefined : max, sum, worst };
}

function bySeries(one: Series, other: Series): number {
  const [a, b] = [one, other].map(({ system, metric, probe }) => [system, metric, probe].join('\0'));
  return a! < b! ? -1 : 1;
}
