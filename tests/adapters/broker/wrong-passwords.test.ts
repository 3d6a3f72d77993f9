import type { Client } from 'aedes';
import { expect, test } from 'vitest';
import { createGatekeeper, networkOf } from '#adapters/broker/gatekeeper.ts';

const minuteMs = 60_000;

function setUp() {
  let nowMs = 0;
  let asked = 0;
  const counts: Record<string, number> = {};
  const all = () => true;
  const board = {
    ...{ name: 'board', mayPublish: all, maySubscribe: all, mayReceive: all },
    async isPassword(given: string) {
      asked += 1;
      return given === 'right';
    },
  };
  const gatekeeper = createGatekeeper(
    { users: [board], isOpenToThisMachine: false },
    counts,
    () => nowMs,
    () => undefined,
  );
  return {
    counts,
    asked: () => asked,
    pass: (ms: number) => {
      nowMs += ms;
    },
    tries: (from: string, password: string) =>
      gatekeeper.admit({} as Client, false, { address: from, isLocal: false }, { username: 'board', password }),
  };
}

test('who changes his address within a network of IPv6 may guess for ever', async () => {
  const { tries, asked, pass } = setUp();
  for (let at = 0; at < 50; at += 1) await tries(`2001:db8:0:7::${at.toString(16)}`, `guess ${at}`);
  expect(asked()).toBe(10);
  expect(await tries('2001:db8:0:7:ffff::1', 'right')).toBe(false);
  expect(await tries('2001:db8:0:8::1', 'right')).toBe(true);
  pass(minuteMs + 1);
  expect(await tries('2001:db8:0:7::1', 'right')).toBe(true);
});

test('who guesses from a thousand addresses is answered a thousand times, or shuts out the boards of the room', async () => {
  const { tries, asked, pass, counts } = setUp();
  expect(await tries('192.0.2.7', 'right')).toBe(true);
  for (let at = 0; at < 1000; at += 1) expect(await tries(`198.51.${at >> 8}.${at & 255}`, 'guess')).toBe(false);
  expect(asked()).toBe(1 + 100);
  expect(counts['refused_login']).toBe(1000);
  expect(await tries('192.0.2.7', 'right')).toBe(true);
  // One that was never there waits until it is over.
  expect(await tries('192.0.2.8', 'right')).toBe(false);
  pass(minuteMs + 1);
  expect(await tries('192.0.2.8', 'right')).toBe(true);
});

test.each([
  ['192.0.2.7', '192.0.2.7'],
  ['::ffff:192.0.2.7', '192.0.2.7'],
  ['2001:db8::1', '2001:db8:0:0::/64'],
  ['2001:0DB8:0:7:1:2:3:4', '2001:db8:0:7::/64'],
  ['2001:db8::7:1:2:3:4', '2001:db8:0:7::/64'],
  ['fe80::1%eth0', 'fe80:0:0:0::/64'],
  ['::1', '0:0:0:0::/64'],
  ['', ''],
])('the network of %s is taken for another', (address, network) => {
  expect(networkOf(address)).toBe(network);
});
