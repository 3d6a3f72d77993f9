/** As recorded: in the metric's store unit, names not yet compared with any configuration. */
export type RecordedReading = { timeMs: number; system: string; metric: string; value: number };

/** A row that is left out: its number in the file (the header is row 1), why, and its beginning. */
export type BadRow = { row: number; reason: string; found: string };

export type ReadingsBatch = { readings: RecordedReading[]; badRows: BadRow[] };

/** Files of recorded readings, `time,system,metric,value`, in batches and in the order of the file. */
export type ReadingsFiles = {
  /** @throws TableUnreadable  when the file cannot be read or its header is another */
  read(path: string): AsyncIterable<ReadingsBatch>;
};
