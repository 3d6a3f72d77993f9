import { afterEach, expect, test, vi } from 'vitest';
import { createRepeats, printOf } from '#adapters/mqtt/repeats.ts';
import { isMissing } from '../../machine/parts.mjs';
import { mosquittoPub } from '../../servers/mosquitto.ts';
import { packetTypes, startOddBroker } from '../../servers/odd-broker.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { createRoom, dated } from './mqtt-bench.ts';

vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const { broker, hub, cleanups, cleanUp } = createRoom();
afterEach(cleanUp);

test.skipIf(isMissing('mosquitto')).each(['3.1.1', '5'] as const)(
  'MQTT %s: a reading whose acknowledgement is lost is stored twice, or one that is new after a break is lost',
  async (protocol) => {
    const { port } = await broker();
    const odd = await startOddBroker(port);
    cleanups.push(() => odd.stop());
    const bench = hub(odd.port, { protocol });
    await bench.startedUp();
    odd.fromClient = ({ type }) => type !== packetTypes.puback;
    await mosquittoPub(port, ...dated('8.12'));
    await waitUntil('it is in', () => bench.values().length === 1);
    // The next one never reaches the hub, and is marked as sent before when it comes at last.
    odd.toClient = ({ topic }) => (topic === 'room/rack' ? 'hang_up' : true);
    await mosquittoPub(port, ...dated('8.12'));
    await waitUntil('the loss is told', () => !bench.edge.state().isUp);
    odd.fromClient = () => true;
    odd.toClient = () => true;
    await mosquittoPub(port, ...dated('8.13'));
    await waitUntil('the last one is in', () => bench.values().includes(8.13));
    expect(bench.values()).toEqual([8.12, 8.12, 8.13]);
    expect(bench.counts()).toMatchObject({ repeated: 2, repeated_dropped: 1 });
  },
);

const taken = (messageId: number, text: string) => ({ messageId, print: printOf('room/ph', Buffer.from(text)) });

test('a broker that uses an identifier again for an equal reading has that taken for a repeat', () => {
  const repeats = createRepeats();
  const first = taken(1, '8.12');
  repeats.stored(first);
  expect(repeats.isRepeat(taken(1, '8.12'))).toBe(true);
  expect(repeats.isRepeat(taken(2, '8.12'))).toBe(false);
  expect(repeats.isRepeat(taken(1, '8.13'))).toBe(false);
  // It has our acknowledgement: a duplicate under this identifier is of a later message.
  repeats.proven(0, repeats.storedCount());
  expect(repeats.isRepeat(taken(1, '8.12'))).toBe(false);
  repeats.stored(first);
  repeats.forget();
  expect(repeats.isRepeat(taken(1, '8.12'))).toBe(false);
});

test('the proof of an older message lets a younger one with its identifier be stored twice', () => {
  const repeats = createRepeats();
  const [older, younger] = [taken(1, '8.12'), taken(1, '8.14')];
  repeats.stored(older);
  const proven = repeats.storedCount();
  repeats.stored(younger);
  repeats.proven(0, proven);
  expect(repeats.isRepeat(taken(1, '8.14'))).toBe(true);
});

test('what was acknowledged on an earlier connection counts as proven by the answer to a ping of this one', () => {
  const repeats = createRepeats();
  repeats.stored(taken(1, '8.12'));
  const earlier = repeats.storedCount();
  repeats.stored(taken(2, '8.13'));
  repeats.proven(earlier, repeats.storedCount());
  expect(repeats.isRepeat(taken(1, '8.12'))).toBe(true);
  expect(repeats.isRepeat(taken(2, '8.13'))).toBe(false);
});

test('messages that are never proven fill the memory', () => {
  const repeats = createRepeats();
  for (let messageId = 1; messageId <= 1001; messageId += 1) repeats.stored(taken(messageId, '8.12'));
  expect(repeats.isRepeat(taken(1, '8.12'))).toBe(false);
  expect(repeats.isRepeat(taken(2, '8.12'))).toBe(true);
});
