import type { Flag, Reading, Series } from '#rules/quality/reading.ts';
import type { KeptReading } from '../ports/store.ts';

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

/**
 * Readings that wait for the next flush, by series, each oldest first and one for each time. The owner bounds its size
 * with `keepNewest`.
 */
export class WriteBuffer {
  size = 0;
  readonly #streams = new Map<string, { series: Series; readings: KeepableReading[] }>();

  get streamCount(): number {
    return this.#streams.size;
  }

  /** False for a second reading of the same series and time: the first is kept. */
  add(reading: KeepableReading): boolean {
    const key = seriesKey(reading.series);
    let stream = this.#streams.get(key);
    if (stream === undefined) {
      stream = { series: reading.series, readings: [] };
      this.#streams.set(key, stream);
    }
    const at = positionOf(stream.readings, reading.timeMs);
    if (stream.readings[at]?.timeMs === reading.timeMs) return false;
    if (at === stream.readings.length) stream.readings.push(reading);
    else stream.readings.splice(at, 0, reading);
    this.size += 1;
    return true;
  }

  /** One entry for each series with its readings, oldest first. */
  streams(): Iterable<{ series: Series; readings: readonly KeepableReading[] }> {
    return this.#streams.values();
  }

  /** [fromMs, toMs), oldest first. */
  of(series: Series, fromMs: number, toMs: number): readonly KeepableReading[] {
    const readings = this.#streams.get(seriesKey(series))?.readings ?? [];
    return readings.slice(positionOf(readings, fromMs), positionOf(readings, toMs));
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
      .flatMap((stream) => stream.readings)
      .sort((a, b) => a.timeMs - b.timeMs);
    this.clear();
    for (const reading of inOrder.slice(excess)) this.add(reading);
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
