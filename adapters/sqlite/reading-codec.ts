import { deflateRawSync, inflateRawSync } from 'node:zlib';
import { flagNumber } from '#rules/quality/reading.ts';
import type { KeptReading } from '../ports/store.ts';
import { ByteReader, ByteWriter } from './byte-stream.ts';
import { readNumbers, writeNumbers } from './number-column.ts';
import { flagFromNumber } from './tally.ts';

/**
 * Readings of one stream in few bytes, without loss: times in whole milliseconds, values bit by bit, flags.
 *
 * Column by column, since a column is like itself: the count, the first time after `originMs`, the usual step, how far each
 * step is from it, the values, and the flags as runs. What comes out is mostly small bytes of few kinds, and is deflated
 * by the caller.
 *
 * @param readings  oldest first, values finite, times of at most 2^50 ms either way
 */
function writeReadings(out: ByteWriter, originMs: number, readings: readonly KeptReading[]): void {
  out.count(readings.length);
  if (readings.length === 0) return;
  out.signed(readings[0]!.timeMs - originMs);
  const steps = readings.slice(1).map(({ timeMs }, index) => timeMs - readings[index]!.timeMs);
  const usual = [...steps].sort((a, b) => a - b)[steps.length >> 1] ?? 0;
  out.signed(usual);
  for (const step of steps) out.signed(step - usual);
  writeNumbers(
    out,
    readings.map(({ value }) => value),
  );
  for (let start = 0; start < readings.length; ) {
    const { flag } = readings[start]!;
    let end = start + 1;
    while (readings[end]?.flag === flag) end += 1;
    out.count(flagNumber[flag]);
    out.count(end - start);
    start = end;
  }
}

function readReadings(from: ByteReader, originMs: number): KeptReading[] {
  const length = from.count();
  if (length === 0) return [];
  let timeMs = originMs + from.signed();
  const usual = from.signed();
  const times = [timeMs];
  for (let at = 1; at < length; at += 1) {
    timeMs += usual + from.signed();
    times.push(timeMs);
  }
  const values = readNumbers(from, length);
  const readings: KeptReading[] = [];
  while (readings.length < length) {
    const flag = flagFromNumber(from.count());
    for (let left = from.count(); left > 0; left -= 1) {
      const at = readings.length;
      readings.push({ timeMs: times[at]!, value: values[at]!, flag });
    }
  }
  return readings;
}

/** @param readings  of one series, in any order */
export function readingsToBytes(originMs: number, readings: readonly KeptReading[]): Buffer {
  const out = new ByteWriter();
  writeReadings(
    out,
    originMs,
    [...readings].sort((a, b) => a.timeMs - b.timeMs),
  );
  return deflateRawSync(out.bytes());
}

/**
 * @returns oldest first
 * @throws  for bytes that `readingsToBytes` did not make
 */
export function readingsFromBytes(originMs: number, bytes: Buffer): KeptReading[] {
  return readReadings(new ByteReader(inflateRawSync(bytes)), originMs);
}

/** The readings of several series, each oldest first, as one piece: what a flush appends. */
export function streamsToBytes(streams: Iterable<readonly [number, readonly KeptReading[]]>): Buffer {
  const out = new ByteWriter();
  let originMs: number | undefined;
  for (const [seriesId, readings] of streams) {
    if (readings.length === 0) continue;
    if (originMs === undefined) {
      originMs = readings[0]!.timeMs;
      out.signed(originMs);
    }
    out.count(seriesId);
    writeReadings(out, originMs, readings);
  }
  return deflateRawSync(out.bytes());
}

/** @throws  for bytes that `streamsToBytes` did not make */
export function streamsFromBytes(bytes: Buffer): [number, KeptReading[]][] {
  const from = new ByteReader(inflateRawSync(bytes));
  const streams: [number, KeptReading[]][] = [];
  if (from.isAtEnd) return streams;
  const originMs = from.signed();
  while (!from.isAtEnd) streams.push([from.count(), readReadings(from, originMs)]);
  return streams;
}
