import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { SerialPort } from 'serialport';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest';
import { decodeKeyValue } from '../../../adapters/decoders/key-value.ts';
import { decodeSenml } from '../../../adapters/decoders/senml.ts';
import type { Clock } from '../../../adapters/ports/edge.ts';
import { type Feed, startFeed } from '../../../hub/demo/feed.ts';
import type { Given } from '../../../hub/demo/keepers-day.ts';
import { openPtyLine } from '../../../hub/demo/pty-line.ts';
import { quietRoom } from '../../../hub/demo/room.ts';
import { seededRandom } from '../../../hub/demo/seeded-random.ts';
import { topics } from '../../../hub/demo/wire-format.ts';
import { type Mosquitto, mosquittoSub, startMosquitto } from '../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

const startMs = Date.UTC(2026, 1, 3, 12);

/** A clock that runs a hundred times too fast in its steps, so that a minute of the script passes in a few ticks. */
function quickClock(): Clock {
  const begun = performance.now();
  const passedMs = () => (performance.now() - begun) * 100;
  return { monotonicMs: passedMs, nowMs: () => startMs + passedMs() };
}

const realClock: Clock = { monotonicMs: () => performance.now(), nowMs: () => Date.now() };

let broker: Mosquitto;
let dir: string;
let feed: Feed | undefined;

beforeAll(async () => {
  broker = await startMosquitto();
});

afterAll(() => broker.stop());

beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'brinekeep-feed-'));
});

afterEach(async () => {
  await feed?.stop();
  feed = undefined;
  rmSync(dir, { recursive: true, force: true });
});

function start(options: Partial<Parameters<typeof startFeed>[0]> = {}): Feed {
  feed = startFeed({
    room: quietRoom(startMs, 0),
    random: seededRandom(3),
    clock: realClock,
    brokerUrl: `mqtt://127.0.0.1:${broker.port}`,
    say: () => {},
    enter: () => {},
    ...options,
  });
  return feed;
}

/** Payloads of one topic, as mosquitto_sub printed them. */
const payloads = (lines: readonly string[], topic: string) =>
  lines.flatMap((line) => (line.startsWith(`0 ${topic} `) ? [line.slice(topic.length + 3)] : []));

describe('the feed of the demonstration', () => {
  it('reaches the hub over a real serial device and a real broker, each device in its own format', async () => {
    const line = await openPtyLine(dir);
    if (line === undefined) throw new Error('no pseudo-terminal on this machine');
    const sub = await mosquittoSub(broker.port, 'demo/#');
    const port = new SerialPort({ path: line.path, baudRate: 9600 });
    let serial = '';
    port.on('data', (bytes: Buffer) => {
      serial += bytes.toString('latin1');
    });
    try {
      start({ line });
      await waitUntil('both inputs speak', () => serial.split('\n').length > 3 && sub.lines().length >= 6);
    } finally {
      await new Promise<void>((resolve) => port.close(() => resolve()));
      await sub.stop();
    }
    const boardLines = serial.split('\n').map((text) => decodeKeyValue(text, { nowMs: 0 }));
    expect(
      boardLines.some((decoded) => decoded.ok && decoded.values.map(({ channel }) => channel).join() === 't,ph,ec'),
    ).toBe(true);
    const [pack] = payloads(sub.lines(), topics.growoutPack);
    const decoded = decodeSenml(pack ?? '', { nowMs: 0 });
    expect(decoded.ok && decoded.values.map(({ channel, unit }) => `${channel} ${unit}`)).toEqual([
      'growout/temperature Cel',
      'growout/ph pH',
      'growout/conductivity S/m',
    ]);
    const [number] = payloads(sub.lines(), topics.quarantine.temperature);
    expect(Number(number)).toBeGreaterThan(24.5);
    expect(Number(number)).toBeLessThan(26);
    expect(payloads(sub.lines(), topics.displayBoard)).toEqual([]);
  });

  it('sends the lines of the board over MQTT where there is no pseudo-terminal', async () => {
    const sub = await mosquittoSub(broker.port, topics.displayBoard);
    try {
      start();
      await waitUntil('the board speaks over MQTT', () => sub.lines().length > 0);
    } finally {
      await sub.stop();
    }
    expect(decodeKeyValue(payloads(sub.lines(), topics.displayBoard)[0] ?? '', { nowMs: 0 }).ok).toBe(true);
  });

  it('loses readings while the broker is away, queues none, and goes on when it is back', async () => {
    const running = start();
    await waitUntil('messages flow', () => running.counts().messages > 0);
    await broker.kill();
    await waitUntil('readings find no way', () => running.counts().unsent >= 3);
    const { messages: sentBefore, unsent } = running.counts();
    const startedMs = performance.now();
    await broker.restart();
    await waitUntil('messages flow again', () => running.counts().messages > sentBefore);
    // What was not sent in the outage must not come in a burst: a tick each second sends four messages at the most.
    const ticks = 2 + Math.floor((performance.now() - startedMs) / 1000);
    expect(running.counts().messages - sentBefore).toBeLessThanOrEqual(4 * ticks);
    expect(running.counts().unsent).toBeGreaterThanOrEqual(unsent);
  });

  it('enters hand tests as the keeper and survives a hub that refuses them', async () => {
    const given: Given[] = [];
    const said: string[] = [];
    start({
      clock: quickClock(),
      say: (text) => said.push(text),
      enter: (each) => {
        given.push(each);
        return Promise.reject(new Error('not now'));
      },
    });
    await waitUntil('two tests are entered', () => given.length >= 2);
    await waitUntil(
      'the refusal is told',
      () => said.filter((text) => text.includes('not taken: not now')).length >= 2,
    );
    expect(given.map(({ kind, entry }) => `${kind} ${entry.system}`).slice(0, 2)).toEqual([
      'test display',
      'test display',
    ]);
  });

  it('is silent once it is stopped', async () => {
    const running = start();
    await waitUntil('messages flow', () => running.counts().messages > 0);
    await running.stop();
    const { lines, messages, unsent } = running.counts();
    await new Promise((resolve) => setTimeout(resolve, 2500));
    expect(running.counts()).toEqual({ lines, messages, unsent });
  });
});
