import type { ReadingsBatch, ReadingsFiles, RecordedReading } from '#adapters/ports/readings-files.ts';

/** What a replay is told of rows that it leaves out. */
export type RowReport = { badRow(path: string, row: number, reason: string, found: string): void };

/**
 * Readings that arrive this much later than others are still judged in the order of the file, as they would be live. A
 * file in another order than time (one metric after the other) is further out than that, and is sorted in memory.
 */
const lateMostMs = 10 * 60_000;

/** Blocks of readings of one file, with the bad rows told and left out. */
async function* blocksOf(files: ReadingsFiles, path: string, report: RowReport): AsyncGenerator<RecordedReading[]> {
  for await (const { readings, badRows } of files.read(path) as AsyncIterable<ReadingsBatch>) {
    for (const { row, reason, found } of badRows) report.badRow(path, row, reason, found);
    if (readings.length > 0) yield readings;
  }
}

/** True when no reading of the file is more than `lateMostMs` older than one before it. */
async function isInOrder(files: ReadingsFiles, path: string): Promise<boolean> {
  let newestMs = Number.NEGATIVE_INFINITY;
  for await (const { readings } of files.read(path)) {
    for (const { timeMs } of readings) {
      if (timeMs < newestMs - lateMostMs) return false;
      if (timeMs > newestMs) newestMs = timeMs;
    }
  }
  return true;
}

/**
 * The readings of several files as one stream in order of time, without holding more than a block of each. When a file is
 * not in order of time, or several files are given, all are read into memory and sorted, which a month of a room bears.
 */
export async function* readingsInOrder(
  files: ReadingsFiles,
  paths: readonly string[],
  report: RowReport,
): AsyncGenerator<RecordedReading[]> {
  const only = paths.length === 1 ? paths[0] : undefined;
  if (only !== undefined && (await isInOrder(files, only))) {
    yield* blocksOf(files, only, report);
    return;
  }
  const all: RecordedReading[] = [];
  for (const path of paths)
    for await (const block of blocksOf(files, path, report)) for (const reading of block) all.push(reading);
  all.sort((a, b) => a.timeMs - b.timeMs);
  yield all;
}
