/** Bytes that grow at their end. Whole numbers take as few bytes as they need: seven bits in each, the lowest first. */
export class ByteWriter {
  #bytes = Buffer.allocUnsafe(1024);
  #length = 0;

  #grow(bytes: number): void {
    if (this.#length + bytes <= this.#bytes.length) return;
    const larger = Buffer.allocUnsafe(2 * (this.#length + bytes));
    this.#bytes.copy(larger, 0, 0, this.#length);
    this.#bytes = larger;
  }

  /** @param value  a whole number from 0 to 2^53 - 1 */
  count(value: number): void {
    this.#grow(8);
    let rest = value;
    while (rest >= 128) {
      this.#bytes[this.#length++] = (rest % 128) + 128;
      rest = Math.floor(rest / 128);
    }
    this.#bytes[this.#length++] = rest;
  }

  /** @param value  a whole number of at most 2^52 either way; small ones of both signs are short */
  signed(value: number): void {
    this.count(value < 0 ? -2 * value - 1 : 2 * value);
  }

  /** All eight bytes of a number, so that it comes back bit by bit. */
  double(value: number): void {
    this.#grow(8);
    this.#length = this.#bytes.writeDoubleLE(value, this.#length);
  }

  /** A view, good until the next writing. */
  bytes(): Buffer {
    return this.#bytes.subarray(0, this.#length);
  }
}

/** @throws RangeError  from its methods, when the bytes end too early: they are not what a ByteWriter wrote */
export class ByteReader {
  readonly #bytes: Buffer;
  #at = 0;

  constructor(bytes: Buffer) {
    this.#bytes = bytes;
  }

  get isAtEnd(): boolean {
    return this.#at >= this.#bytes.length;
  }

  count(): number {
    const first = this.#bytes[this.#at];
    // Nearly all are of one byte.
    if (first !== undefined && first < 128) {
      this.#at += 1;
      return first;
    }
    let value = 0;
    let unit = 1;
    for (;;) {
      const byte = this.#bytes[this.#at++];
      if (byte === undefined) throw new RangeError('the bytes end too early');
      if (byte < 128) return value + byte * unit;
      value += (byte - 128) * unit;
      unit *= 128;
    }
  }

  signed(): number {
    const value = this.count();
    return value % 2 === 0 ? value / 2 : -(value + 1) / 2;
  }

  double(): number {
    const value = this.#bytes.readDoubleLE(this.#at);
    this.#at += 8;
    return value;
  }
}
