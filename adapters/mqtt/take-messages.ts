import type { IPublishPacket, MqttClient } from 'mqtt';
import type { Message } from '../ports/edge.ts';
import { createAcknowledgements } from './acknowledgements.ts';
import { createPublishReader, type DirectPublish } from './publish-reader.ts';
import { printOf, type Repeats, type Taken } from './repeats.ts';

/** So long after an acknowledgement the broker is asked for a sign that it has it. */
const proofAfterMs = 1000;

/** What becomes of a message; see `ConnectionEvents`. */
type MessageEvents = {
  message(message: Message): void | Promise<void>;
  repeated(isKnown: boolean): void;
  isFull(): boolean;
};

/**
 * Hands every message on and acknowledges it when it is stored.
 *
 * The library acknowledges a message of QoS 1 when its handler calls back, and reads nothing else before, not even the
 * answer to a ping: one message for each write of the store. So it is told that each message is of QoS 0, reads on, and the
 * acknowledgement is written here. When too many wait for the store, the reading stops and the broker keeps the rest.
 *
 * Those of MQTT 3.1.1 it does not even see, while there is room (`publish-reader.ts`).
 *
 * @returns what writes at once the acknowledgements that wait for the end of this turn, and what reads the stream before the library
 */
export function takeMessages(
  client: MqttClient,
  events: MessageEvents,
  repeats: Repeats,
  line: { isEnded(): boolean; isDirect(): boolean; hold(next: () => void): void },
): { acknowledgeAll(): void; read(chunk: Buffer): Buffer | undefined } {
  const isOver = () => line.isEnded() || client.stream.destroyed;
  const awaitProof = provenByPings(client, repeats, isOver);
  let stored: Taken[] = [];
  /** Those of one turn go out at once: a call of the system for each acknowledgement is the dearest part of it. */
  function acknowledgeAll(): void {
    const all = stored;
    stored = [];
    if (all.length === 0 || isOver()) return;
    // PUBACK, alike in 3.1.1 and 5 (reason 0 left out): type 4, two bytes, the message's identifier.
    const bytes = Buffer.allocUnsafe(4 * all.length);
    let at = 0;
    for (const { messageId } of all) {
      at = bytes.writeUInt16BE(0x40_02, at);
      at = bytes.writeUInt16BE(messageId, at);
    }
    client.stream.write(bytes);
    awaitProof();
    stayAlive();
  }
  const acknowledgements = createAcknowledgements<Taken>((taken) => {
    repeats.stored(taken);
    if (stored.length === 0) setImmediate(acknowledgeAll);
    stored.push(taken);
  });
  client.on('packetreceive', (packet) => {
    if (packet.cmd === 'publish' && packet.qos === 1) packet.qos = 0;
  });
  /** The library pings, and waits for the answer, when it has heard nothing for long; it hears of a message that it does not see. */
  let heardMs = 0;
  function stayAlive(): void {
    const nowMs = performance.now();
    if (nowMs - heardMs < proofAfterMs) return;
    heardMs = nowMs;
    client.reschedulePing();
  }
  function take({ topic, payload, messageId, isRetained, isRepeated }: DirectPublish): void {
    // The connection broke while messages lay here unread: the broker still has them.
    if (line.isEnded()) return;
    const taken = messageId === undefined ? undefined : { messageId, print: printOf(topic, payload) };
    const isKnown = isRepeated && taken !== undefined && repeats.isRepeat(taken);
    if (isRepeated) events.repeated(isKnown);
    // A message that was not stored stays unacknowledged; the edge has broken the connection off.
    try {
      const stored = isKnown ? undefined : events.message({ topic, payload, isRetained });
      if (stored === undefined) acknowledgements.stored(taken);
      else stored.then(acknowledgements.expect(taken), () => undefined);
    } catch {
      acknowledgements.expect(taken);
    }
  }
  const reader = createPublishReader(() => line.isDirect() && !events.isFull(), take);
  function takeFromLibrary({ topic, messageId, retain, dup, payload }: IPublishPacket, readNext: () => void): void {
    reader.libraryTook();
    const bytes = typeof payload === 'string' ? Buffer.from(payload) : payload;
    take({ topic, messageId, isRetained: retain, isRepeated: dup, payload: bytes });
    readNext();
  }
  client.handleMessage = (packet, readNext) => {
    if (events.isFull()) line.hold(() => takeFromLibrary(packet, readNext));
    else takeFromLibrary(packet, readNext);
  };
  return { acknowledgeAll, read: (chunk) => reader.read(chunk) };
}

/**
 * The answer to a ping shows that all acknowledgements written before it have arrived.
 *
 * @returns to be called when all were written that are stored by now
 */
function provenByPings(client: MqttClient, repeats: Repeats, isOver: () => boolean): () => void {
  // Of those before, acknowledged on an earlier connection, this one proves nothing.
  let provenCount = repeats.storedCount();
  /** So many of those stored are acknowledged. */
  let written = provenCount;
  /** The same at each ping that is not answered yet, the library's own among them. */
  const asked: number[] = [];
  let isAskedSoon = false;
  client.on('packetsend', ({ cmd }) => {
    if (cmd !== 'pingreq') return;
    asked.push(written);
  });
  client.on('packetreceive', ({ cmd }) => {
    const arrived = cmd === 'pingresp' ? asked.shift() : undefined;
    if (arrived === undefined) return;
    repeats.proven(provenCount, arrived);
    provenCount = arrived;
  });
  return () => {
    written = repeats.storedCount();
    if (isAskedSoon) return;
    isAskedSoon = true;
    setTimeout(() => {
      isAskedSoon = false;
      if (!isOver() && client.connected) client.sendPing();
    }, proofAfterMs).unref();
  };
}
