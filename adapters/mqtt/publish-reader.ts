/** A PUBLISH as it came. Its payload is a view of what was read, good until the next turn. */
export type DirectPublish = {
  topic: string;
  payload: Buffer;
  /** Of QoS 1 alone. */
  messageId: number | undefined;
  isRetained: boolean;
  isRepeated: boolean;
};

export type PublishReader = {
  /** Hands over each whole PUBLISH of the stream, in order, and gives what is left for the library. */
  read(chunk: Buffer): Buffer | undefined;
  /** The library has handed over a PUBLISH that was left for it. */
  libraryTook(): void;
};

/** A longer packet goes through the library: it would be put together here piece by piece. */
const mostPacketBytes = 16_384;

/**
 * Takes the messages of probes out of a stream of MQTT 3.1.1 (3.3: a type byte with DUP, QoS and RETAIN, the length of the rest, the
 * topic with its length, the identifier, the payload): the library makes 6 KB of garbage for each, and for a queue of an hour that
 * is most of the work. Everything else is left for the library, in its order.
 *
 * Is: in order. Once a PUBLISH was left for the library, all that follow are too, until it has handed over the last of them.
 *
 * @param isOpen  asked before each: whether it can be taken now
 */
export function createPublishReader(isOpen: () => boolean, take: (publish: DirectPublish) => void): PublishReader {
  /** The begin of a packet whose end has not come. */
  let begun: Buffer | undefined;
  /** So many bytes of a packet that the library has begun are still to come. */
  let passing = 0;
  let atLibrary = 0;

  return {
    read(chunk) {
      const bytes = begun === undefined ? chunk : Buffer.concat([begun, chunk]);
      begun = undefined;
      let left: Buffer[] | undefined;
      /** What is left for the library begins here. */
      let from = 0;
      let at = Math.min(passing, bytes.length);
      passing -= at;
      const leave = (to: number) => {
        if (to > from) left = [...(left ?? []), bytes.subarray(from, to)];
      };
      while (at < bytes.length) {
        const start = bodyStart(bytes, at);
        const end = start === undefined ? Number.POSITIVE_INFINITY : start + bodyLength(bytes, at);
        const isPublish = bytes[at]! >> 4 === 3;
        const isBroken = start !== undefined && bytes[start - 1]! > 127;
        const isMine = isPublish && !isBroken && atLibrary === 0 && isOpen();
        if (end > bytes.length && (start === undefined || (isMine && end - at <= mostPacketBytes))) {
          leave(at);
          // Copied: the chunk would else be kept for it.
          begun = Buffer.from(bytes.subarray(at));
          return joined(left);
        }
        const publish = isMine && end <= bytes.length ? publishFrom(bytes, bytes[at]!, start!, end) : undefined;
        if (publish !== undefined) {
          leave(at);
          from = end;
          take(publish);
        } else {
          if (isPublish) atLibrary += 1;
          passing = Math.max(0, end - bytes.length);
        }
        at = Math.min(end, bytes.length);
      }
      leave(bytes.length);
      return joined(left);
    },
    libraryTook() {
      atLibrary -= 1;
    },
  };
}

function joined(pieces: Buffer[] | undefined): Buffer | undefined {
  return pieces === undefined || pieces.length > 1 ? pieces && Buffer.concat(pieces) : pieces[0];
}

/** Where the rest of a packet begins; undefined when its length has not come whole. A fifth byte of length is for the library to refuse. */
function bodyStart(bytes: Buffer, at: number): number | undefined {
  for (let index = 1; index <= 4; index += 1) {
    const byte = bytes[at + index];
    if (byte === undefined) return undefined;
    if (byte < 128) return at + index + 1;
  }
  return at + 5;
}

function bodyLength(bytes: Buffer, at: number): number {
  let length = 0;
  for (let index = 1; index <= 4; index += 1) {
    const byte = bytes[at + index]!;
    length += (byte & 0x7f) * 128 ** (index - 1);
    if (byte < 128) break;
  }
  return length;
}

/** Undefined for what is not as it should be, and for QoS 2: the library knows what to do. */
function publishFrom(bytes: Buffer, type: number, start: number, end: number): DirectPublish | undefined {
  const qos = (type >> 1) & 3;
  if (qos > 1 || end - start < 2) return undefined;
  const topicEnd = start + 2 + bytes.readUInt16BE(start);
  const payloadStart = topicEnd + (qos === 1 ? 2 : 0);
  if (topicEnd === start + 2 || payloadStart > end) return undefined;
  return {
    topic: bytes.toString('utf8', start + 2, topicEnd),
    payload: bytes.subarray(payloadStart, end),
    messageId: qos === 1 ? bytes.readUInt16BE(topicEnd) : undefined,
    isRetained: (type & 1) === 1,
    isRepeated: (type & 8) === 8,
  };
}
