/**
 * Watches the bytes of one client and tells when a packet announces itself as larger than allowed. It reads the fixed
 * headers alone (MQTT 3.1.1, 2.2): a type byte, then the remaining length in one to four bytes of seven bits each.
 *
 * Is: a packet that is too large is known from its first five bytes, so none of it is ever gathered in memory.
 */
export function createPacketSizeGuard(mostPacketBytes: number) {
  let bodyBytesToCome = 0;
  let isInLength = false;
  let length = 0;
  let multiplier = 1;

  /** @returns false for bytes that a client may not send; it is then to be cut off, and the guard is spent */
  return function allows(chunk: Uint8Array): boolean {
    let at = 0;
    while (at < chunk.length) {
      if (bodyBytesToCome > 0) {
        const skipped = Math.min(bodyBytesToCome, chunk.length - at);
        bodyBytesToCome -= skipped;
        at += skipped;
        continue;
      }
      const byte = chunk[at]!;
      at += 1;
      if (!isInLength) {
        isInLength = true;
        length = 0;
        multiplier = 1;
        continue;
      }
      length += (byte & 0x7f) * multiplier;
      multiplier *= 128;
      if (length > mostPacketBytes) return false;
      if ((byte & 0x80) !== 0) {
        // A fifth length byte does not exist.
        if (multiplier > 128 ** 3) return false;
        continue;
      }
      isInLength = false;
      bodyBytesToCome = length;
    }
    return true;
  };
}
