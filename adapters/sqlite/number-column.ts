import type { ByteReader, ByteWriter } from './byte-stream.ts';

/** How the numbers of a column are written; the code stands before them. */
const asDecimals = 0;
const asTable = 1;
const asDoubles = 2;

const mostDigits = 6;
/** Above this a whole number of the last digit, or the step between two, would not be exact. */
const greatestWhole = 2 ** 50;

/**
 * The least number of decimal digits with which all values are exact: value = whole / 10^digits, bit by bit. A probe gives
 * its values so. Nothing when there is none up to six; minus zero has no whole number.
 */
export function exactDigits(values: readonly number[], atLeast = 0): number | undefined {
  for (let digits = atLeast; digits <= mostDigits; digits += 1) {
    const scale = 10 ** digits;
    if (values.every((value) => isWholeOver(value, scale))) return digits;
  }
  return undefined;
}

function isWholeOver(value: number, scale: number): boolean {
  const whole = Math.round(value * scale);
  return Math.abs(whole) <= greatestWhole && Object.is((whole === 0 ? 0 : whole) / scale, value);
}

/** A run of whole numbers as the steps between them. */
function writeSteps(out: ByteWriter, wholes: readonly number[]): void {
  let before = 0;
  for (const whole of wholes) {
    out.signed(whole - before);
    before = whole;
  }
}

function readSteps(from: ByteReader, length: number): number[] {
  const wholes: number[] = [];
  let before = 0;
  for (let at = 0; at < length; at += 1) {
    before += from.signed();
    wholes.push(before);
  }
  return wholes;
}

/**
 * Finite numbers, to come back bit by bit: as whole numbers of their last decimal digit where that is exact; else, where few
 * distinct ones repeat (a correction applied to what a probe resolves), as places in a table of them; else in full.
 */
export function writeNumbers(out: ByteWriter, values: readonly number[]): void {
  const digits = exactDigits(values);
  if (digits !== undefined) {
    out.count(asDecimals);
    out.count(digits);
    const scale = 10 ** digits;
    writeSteps(
      out,
      values.map((value) => Math.round(value * scale)),
    );
    return;
  }
  const distinct = distinctOf(values);
  if (distinct === undefined) {
    out.count(asDoubles);
    for (const value of values) out.double(value);
    return;
  }
  out.count(asTable);
  out.count(distinct.length);
  for (const value of distinct) out.double(value);
  const places = new Map(distinct.map((value, place) => [value, place]));
  writeSteps(
    out,
    values.map((value) => places.get(value)!),
  );
}

/** In ascending order; nothing when a table of them would not pay, or minus zero is among them, which a map takes for zero. */
function distinctOf(values: readonly number[]): number[] | undefined {
  const distinct = new Set<number>();
  for (const value of values) {
    if (Object.is(value, -0)) return undefined;
    distinct.add(value);
    if (distinct.size > values.length / 2) return undefined;
  }
  return [...distinct].sort((a, b) => a - b);
}

/** @throws RangeError  for bytes that `writeNumbers` did not write */
export function readNumbers(from: ByteReader, length: number): number[] {
  const way = from.count();
  if (way === asDecimals) {
    const scale = 10 ** from.count();
    const wholes = readSteps(from, length);
    for (let at = 0; at < length; at += 1) wholes[at] = wholes[at]! / scale;
    return wholes;
  }
  if (way === asTable) {
    const size = from.count();
    const table = Array.from({ length: size }, () => from.double());
    return readSteps(from, length).map((place) => table[place]!);
  }
  if (way !== asDoubles) throw new RangeError(`no such way to write numbers: ${way}`);
  return Array.from({ length }, () => from.double());
}
