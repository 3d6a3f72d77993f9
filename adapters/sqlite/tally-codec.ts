import { deflateRawSync, inflateRawSync } from 'node:zlib';
import { ByteReader, ByteWriter } from './byte-stream.ts';
import { exactDigits, readNumbers, writeNumbers } from './number-column.ts';
import type { Tally } from './tally.ts';

const sumsNearDecimals = 1;
const sumsInFull = 0;

/**
 * The tallies of one series in few bytes, without loss, column by column as with readings. A tally without a good value
 * has no least, greatest or sum to keep.
 *
 * The sum of values with a few decimal digits is such a number too, but for the rounding of each addition: it is kept as
 * how many last digits it is from count times the middle of least and greatest, and how many steps of a double from there.
 *
 * @param tallies  by start of their interval, ascending
 * @param intervalMs  length of an interval, whose multiples the starts are
 */
export function talliesToBytes(
  originMs: number,
  intervalMs: number,
  tallies: readonly (readonly [number, Tally])[],
): Buffer {
  const out = new ByteWriter();
  out.count(tallies.length);
  let before = originMs - intervalMs;
  for (const [startMs] of tallies) {
    out.count((startMs - before) / intervalMs);
    before = startMs;
  }
  for (const [, { count }] of tallies) out.count(count);
  for (const [, { failed }] of tallies) out.count(failed);
  for (const [, { worst }] of tallies) out.count(worst);
  const full = tallies.map(([, tally]) => tally).filter(({ count }) => count > 0);
  writeNumbers(
    out,
    full.map(({ min }) => min),
  );
  writeNumbers(
    out,
    full.map(({ max }) => max),
  );
  writeSums(out, full);
  return deflateRawSync(out.bytes());
}

/**
 * Plain loops: a chart of ten years reads ninety thousand tallies.
 *
 * @throws  for bytes that `talliesToBytes` did not make
 */
export function talliesFromBytes(originMs: number, intervalMs: number, bytes: Buffer): [number, Tally][] {
  const from = new ByteReader(inflateRawSync(bytes));
  const length = from.count();
  const tallies: [number, Tally][] = [];
  let startMs = originMs - intervalMs;
  for (let at = 0; at < length; at += 1) {
    startMs += from.count() * intervalMs;
    const { POSITIVE_INFINITY: min, NEGATIVE_INFINITY: max } = Number;
    tallies.push([startMs, { count: 0, failed: 0, min, max, sum: 0, worst: 0 }]);
  }
  const full: Tally[] = [];
  for (const [, tally] of tallies) {
    tally.count = from.count();
    if (tally.count > 0) full.push(tally);
  }
  for (const [, tally] of tallies) tally.failed = from.count();
  for (const [, tally] of tallies) tally.worst = from.count();
  const least = readNumbers(from, full.length);
  for (let at = 0; at < full.length; at += 1) full[at]!.min = least[at]!;
  const greatest = readNumbers(from, full.length);
  for (let at = 0; at < full.length; at += 1) full[at]!.max = greatest[at]!;
  readSums(from, full);
  return tallies;
}

function writeSums(out: ByteWriter, tallies: readonly Tally[]): void {
  const digits = exactDigits(tallies.flatMap(({ min, max }) => [min, max]));
  const near = digits === undefined ? undefined : tallies.map((tally) => nearDecimal(tally, 10 ** digits));
  if (digits === undefined || near?.some((one) => one === undefined)) {
    out.count(sumsInFull);
    for (const { sum } of tallies) out.double(sum);
    return;
  }
  out.count(sumsNearDecimals);
  out.count(digits);
  for (const one of near!) out.signed(one!.whole);
  for (const one of near!) out.signed(one!.steps);
}

function readSums(from: ByteReader, tallies: readonly Tally[]): void {
  if (from.count() === sumsInFull) {
    for (const tally of tallies) tally.sum = from.double();
    return;
  }
  const scale = 10 ** from.count();
  for (const tally of tallies) tally.sum = (middleWhole(tally, scale) + from.signed()) / scale;
  for (const tally of tallies) tally.sum = stepped(tally.sum, from.signed());
}

function middleWhole({ count, min, max }: Tally, scale: number): number {
  return Math.round(((min + max) / 2) * count * scale);
}

/** Undefined when the sum is no number near a decimal: it is then kept in full. */
function nearDecimal(tally: Tally, scale: number): { whole: number; steps: number } | undefined {
  const middle = middleWhole(tally, scale);
  const whole = Math.round(tally.sum * scale) - middle;
  if (Math.abs(middle) > 2 ** 50 || Math.abs(whole) > 2 ** 50) return undefined;
  const decimal = (middle + whole) / scale;
  const steps = Number(bitsOf(tally.sum) - bitsOf(decimal));
  return Math.abs(steps) < 2 ** 20 && Object.is(stepped(decimal, steps), tally.sum) ? { whole, steps } : undefined;
}

const one = new DataView(new ArrayBuffer(8));

function bitsOf(value: number): bigint {
  one.setFloat64(0, value);
  return one.getBigInt64(0);
}

/** The double so many places further in the order of their bits; less than 2^31 either way. */
function stepped(value: number, steps: number): number {
  if (steps === 0) return value;
  one.setFloat64(0, value);
  const low = one.getUint32(4) + steps;
  const carry = Math.floor(low / 2 ** 32);
  one.setUint32(4, low - carry * 2 ** 32);
  if (carry !== 0) one.setInt32(0, one.getInt32(0) + carry);
  return one.getFloat64(0);
}
