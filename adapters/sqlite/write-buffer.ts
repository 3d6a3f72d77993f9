import type { Flag, Reading, Series } from '#rules/quality/reading.ts';
import type { KeptReading } from '../ports/store.ts';
import { ReadingColumn } from './reading-column.ts';

/** A reading that has a value to keep. */
export type KeepableReading = Reading & { quality: Exclude<Reading['quality'], { flag: 'missing' }> };

/** A missing reading has no value and is not kept. */
export function isKeepable(reading: Reading): reading is KeepableReading {
  return reading.quality.flag !== 'missing';
}

/** The number that stands in the store: the raw one of a failed reading, as evidence. */
export function keptFrom(reading: KeepableReading): KeptReading {
  const { quality } = reading;
  return {
    timeMs: reading.timeMs,
    value: quality.flag === 'fail' ? quality.raw : quality.value,
    flag: quality.flag satisfies Flag,
  };
}

/** The reading behind a number in the store; why it was doubted is not kept. */
export function readingFrom(series: Series, { timeMs, value, flag }: KeptReading): Reading {
  if (flag === 'missing') return { series, timeMs, quality: { flag, why: 'nothing kept' } };
  if (flag === 'fail') return { series, timeMs, quality: { flag, raw: value, why: 'failed when it was taken' } };
  return { series, timeMs, quality: { flag, value } };
}

const keys = new WeakMap<Series, string>();

/** Remembered by object: each probe has one, and to put three names together and hash them for each reading is dear. */
export function seriesKey(series: Series): string {
  const known = keys.get(series);
  if (known !== undefined) return known;
  const key = `${series.system}\n${series.metric}\n${series.probe}`;
  keys.set(series, key);
  return key;
}

type Stream = { series: Series; readings: ReadingColumn };

/**
 * Readings that wait for the next flush, by series, each oldest first and one for each time. The owner bounds its size
 * with `keepNewest`.
 *
 * They lie in columns: as objects those of ten seconds of a flood outlived the young generation, and to move them took half of all
 * the work.
 */
export class WriteBuffer {
  size = 0;
  readonly #streams = new Map<string, Stream>();

  get streamCount(): number {
    return this.#streams.size;
  }

  /** False for a second reading of the same series and time: the first is kept. */
  add(reading: KeepableReading): boolean {
    return this.#put(reading.series, keptFrom(reading));
  }

  #put(series: Series, reading: KeptReading): boolean {
    const key = seriesKey(series);
    let stream = this.#streams.get(key);
    if (stream === undefined) {
      stream = { series, readings: new ReadingColumn() };
      this.#streams.set(key, stream);
    }
    if (!stream.readings.add(reading)) return false;
    this.size += 1;
    return true;
  }

  /** One entry for each series with its readings, oldest first. */
  streams(): Iterable<Stream> {
    return this.#streams.values();
  }

  /** [fromMs, toMs), oldest first. */
  of(series: Series, fromMs: number, toMs: number): readonly KeptReading[] {
    return this.#streams.get(seriesKey(series))?.readings.of(fromMs, toMs) ?? [];
  }

  last(series: Series): KeptReading | undefined {
    return this.#streams.get(seriesKey(series))?.readings.last();
  }

  clear(): void {
    this.#streams.clear();
    this.size = 0;
  }

  /** Drops the oldest readings, by their time, until at most `limit` are left; gives how many went. */
  keepNewest(limit: number): number {
    const excess = this.size - limit;
    if (excess <= 0) return 0;
    const inOrder = [...this.#streams.values()]
      .flatMap(({ series, readings }) => readings.all().map((reading) => ({ series, reading })))
      .sort((a, b) => a.reading.timeMs - b.reading.timeMs);
    this.clear();
    for (const { series, reading } of inOrder.slice(excess)) this.#put(series, reading);
    return excess;
  }
}

/** Index of the first reading at or after a time, oldest first; the common case, later than all, is seen at once. */
export function positionOf(readings: readonly { timeMs: number }[], timeMs: number): number {
  const last = readings.at(-1);
  if (last === undefined || last.timeMs < timeMs) return readings.length;
  let low = 0;
  let high = readings.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (readings[middle]!.timeMs < timeMs) low = middle + 1;
    else high = middle;
  }
  return low;
}
