import type Database from 'better-sqlite3';
import type { Clock } from '../ports/edge.ts';
import type { IntervalTally, RecordDraft, RecordPart } from '../ports/whole-record.ts';
import { syncPath, throwAway } from './backup.ts';
import { connect } from './connection.ts';
import { documentTable } from './document-table.ts';
import { journalTable } from './journal-table.ts';
import { keptFromName } from './old-readings.ts';
import { packedReadings } from './packed-readings.ts';
import { migrate } from './schema.ts';
import { seriesTable } from './series-table.ts';
import { asStoreError } from './store-error.ts';
import { takePlaceOf } from './store-files.ts';
import { summaryTable } from './summary-table.ts';
import { emptyTally, type Tally } from './tally.ts';

/** So many parts are a transaction: the log of the draft stays short. */
const partsInTransaction = 500;

/**
 * A store made of the parts of a record, beside the place where it will be.
 *
 * Is: the place holds the former store until the new one is whole and on disk.
 * Is not: checking the parts; a reading or an interval that comes twice would count twice in the summaries.
 */
export function draftRecord(storePath: string, clock: Clock): RecordDraft {
  const path = `${storePath}.importing`;
  const doing = `Writing ${path}`;
  let db: Database.Database | undefined;
  let parts = 0;

  function discard(): void {
    db?.close();
    throwAway(path);
  }

  /** A failure leaves nothing behind. */
  function attempt<Result>(work: (draft: Database.Database) => Result): Result {
    try {
      db ??= connect(path);
      return work(db);
    } catch (error) {
      discard();
      throw asStoreError(error, doing);
    }
  }

  throwAway(path);
  const write = attempt((draft) => {
    // It is synced as a whole at its end; what a crash leaves of it before is thrown away.
    draft.pragma('synchronous = OFF');
    migrate(draft);
    const writer = writerOf(draft);
    draft.exec('BEGIN');
    return writer;
  });

  return {
    put: (part) =>
      attempt((draft) => {
        write(part);
        parts += 1;
        if (parts % partsInTransaction === 0) draft.exec('COMMIT; BEGIN');
      }),
    finish: () =>
      attempt((draft) => {
        draft.exec('COMMIT');
        draft.close();
        syncPath(path);
        return takePlaceOf(storePath, path, clock);
      }),
    discard,
  };
}

function writerOf(db: Database.Database): (part: RecordPart) => void {
  const fault = ({ detail }: { detail: string }) => {
    throw new Error(detail);
  };
  const journal = journalTable(db, fault);
  const documents = documentTable(db, fault);
  const series = seriesTable(db);
  const packed = packedReadings(db, fault);
  const summaries = summaryTable(db, fault);
  const putMeta = db.prepare<[string, string]>('INSERT OR REPLACE INTO meta (name, body) VALUES (?, ?)');

  return (part) => {
    if (part.part === 'kept_from') putMeta.run(keptFromName, String(part.timeMs));
    else if (part.part === 'entry') journal.putBack(part.entry);
    else if (part.part === 'document') documents.put(part);
    else {
      series.ensure([part.series]);
      const id = series.idOf(part.series)!;
      if (part.part === 'readings') packed.merge(id, part.readings);
      else summaries.mergeTallies(id, part.resolution, part.tallies.map(startedTally));
    }
  };
}

function startedTally({ startMs, count, failed, min, max, sum, worst }: IntervalTally): readonly [number, Tally] {
  const { min: none, max: nothing } = emptyTally();
  return [startMs, { count, failed, min: min ?? none, max: max ?? nothing, sum, worst }];
}
