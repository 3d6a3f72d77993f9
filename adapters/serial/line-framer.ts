import type { RejectReason } from '../ports/observation.ts';

export type FramerLimits = {
  lineEnd: 'lf' | 'cr' | 'crlf';
  mostLineBytes: number;
  noLineEndBytes: number;
  mostGapMs: number;
};

export type FramerEvents = {
  /** A whole line without its end. The bytes are the framer's own: use them before returning. */
  line(bytes: Buffer): void;
  /** Bytes that are no line. */
  skipped(reason: Extract<RejectReason, 'too_long' | 'partial' | 'no_line_end'>, found: Buffer): void;
};

export type LineFramer = {
  /** @param nowMs monotonic milliseconds of the arrival */
  push(chunk: Buffer, nowMs: number): void;
  /** The port closed: what was begun is no line, and the first line after the next opening is not whole either. */
  reset(): void;
};

const LF = 0x0a;
const CR = 0x0d;

/**
 * Cuts a stream of bytes into lines.
 *
 * Is: every line handed on began after a line end that was seen and ended with one, at most `mostLineBytes` long.
 * Is not: a promise that no byte in between was lost or changed; the wire has no checksum.
 *
 * What is not whole is dropped and counted: the piece before the first line end after opening, the piece that an unplug or
 * a silence of `mostGapMs` cuts off, and what is too long, all of it up to its end. Memory is one line, whatever comes.
 */
export function createLineFramer(limits: FramerLimits, events: FramerEvents): LineFramer {
  // One more byte than a line may have: the CR of CR LF stands there until the LF shows that it belongs to the end.
  const buffer = Buffer.alloc(limits.mostLineBytes + 1);
  const endByte = limits.lineEnd === 'cr' ? CR : LF;
  let length = 0;
  let isLost = true;
  let hasLostBytes = false;
  let bytesWithoutEnd = 0;
  let previous = 0;
  let lastArrivalMs = 0;

  function endLine(): void {
    const isWhole = !isLost;
    let end = length;
    if (limits.lineEnd !== 'cr' && end > 0 && buffer[end - 1] === CR) end -= 1;
    const isTooLong = end > limits.mostLineBytes;
    length = 0;
    bytesWithoutEnd = 0;
    if (isLost && hasLostBytes) events.skipped('partial', buffer.subarray(0, end));
    isLost = false;
    hasLostBytes = false;
    if (isWhole && isTooLong) events.skipped('too_long', buffer.subarray(0, end));
    else if (isWhole && end > 0) events.line(buffer.subarray(0, end));
  }

  function takeByte(byte: number): void {
    const isEnd = byte === endByte && (limits.lineEnd !== 'crlf' || previous === CR);
    // Behind CR as the line end, the LF of a device that sends both belongs to no line.
    const isTail = limits.lineEnd === 'cr' && byte === LF && previous === CR;
    previous = byte;
    if (isTail) return;
    if (isEnd) {
      endLine();
      return;
    }
    bytesWithoutEnd += 1;
    if (bytesWithoutEnd === limits.noLineEndBytes) events.skipped('no_line_end', buffer.subarray(0, length));
    if (length < buffer.length) {
      buffer[length] = byte;
      length += 1;
      hasLostBytes ||= isLost;
    } else if (!isLost) {
      events.skipped('too_long', buffer.subarray(0, length));
      // The rest of it is skipped like any other tail, but counted once only.
      isLost = true;
      hasLostBytes = false;
    }
  }

  function lose(): void {
    if (length > 0 && (!isLost || hasLostBytes)) events.skipped('partial', buffer.subarray(0, length));
    length = 0;
    isLost = true;
    hasLostBytes = false;
  }

  return {
    push(chunk, nowMs) {
      if (length > 0 && !isLost && nowMs - lastArrivalMs > limits.mostGapMs) lose();
      lastArrivalMs = nowMs;
      for (const byte of chunk) takeByte(byte);
    },
    reset() {
      lose();
      bytesWithoutEnd = 0;
      previous = 0;
    },
  };
}
