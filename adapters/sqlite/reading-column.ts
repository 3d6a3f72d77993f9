import { flagNumber } from '#rules/quality/reading.ts';
import type { KeptReading } from '../ports/store.ts';
import { flagFromNumber } from './tally.ts';

const firstCapacity = 32;

/**
 * Readings of one stream, oldest first and one for each time, in 17 bytes each: an object for each of them, its two numbers
 * boxed, is a hundred, and a large room has a quarter of a million waiting.
 */
export class ReadingColumn {
  length = 0;
  #times = new Float64Array(firstCapacity);
  #values = new Float64Array(firstCapacity);
  #flags = new Uint8Array(firstCapacity);

  /** False for a second reading of the same time: the first stays. */
  add({ timeMs, value, flag }: KeptReading): boolean {
    const at = this.#positionOf(timeMs);
    if (at < this.length && this.#times[at] === timeMs) return false;
    if (this.length === this.#times.length) this.#grow();
    if (at < this.length) {
      for (const column of [this.#times, this.#values, this.#flags]) column.copyWithin(at + 1, at, this.length);
    }
    this.#times[at] = timeMs;
    this.#values[at] = value;
    this.#flags[at] = flagNumber[flag];
    this.length += 1;
    return true;
  }

  has(timeMs: number): boolean {
    const at = this.#positionOf(timeMs);
    return at < this.length && this.#times[at] === timeMs;
  }

  first(): KeptReading | undefined {
    return this.length === 0 ? undefined : this.#at(0);
  }

  last(): KeptReading | undefined {
    return this.length === 0 ? undefined : this.#at(this.length - 1);
  }

  /** Oldest first. */
  all(): KeptReading[] {
    return this.of(Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY);
  }

  /** [fromMs, toMs), oldest first. */
  of(fromMs: number, toMs: number): KeptReading[] {
    const readings: KeptReading[] = [];
    for (let at = this.#positionOf(fromMs); at < this.length && this.#times[at]! < toMs; at += 1)
      readings.push(this.#at(at));
    return readings;
  }

  #at(at: number): KeptReading {
    return { timeMs: this.#times[at]!, value: this.#values[at]!, flag: flagFromNumber(this.#flags[at]!) };
  }

  #grow(): void {
    const [times, values, flags] = [this.#times, this.#values, this.#flags];
    const capacity = times.length * 2;
    this.#times = new Float64Array(capacity);
    this.#values = new Float64Array(capacity);
    this.#flags = new Uint8Array(capacity);
    this.#times.set(times);
    this.#values.set(values);
    this.#flags.set(flags);
  }

  /** Index of the first reading at or after a time; the common case, later than all, is seen at once. */
  #positionOf(timeMs: number): number {
    let high = this.length;
    if (high === 0 || this.#times[high - 1]! < timeMs) return high;
    let low = 0;
    while (low < high) {
      const middle = (low + high) >>> 1;
      if (this.#times[middle]! < timeMs) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}
