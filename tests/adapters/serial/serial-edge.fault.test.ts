import { closeSync, openSync, symlinkSync, unlinkSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { systemClock } from '#adapters/clock/system-clock.ts';
import type { Clock, Edge } from '#adapters/ports/edge.ts';
import type { SerialPortOptions } from '#adapters/serial/options.ts';
import { createSerialEdge } from '#adapters/serial/serial-edge.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { type PtyPair, startPtyPair } from '../../servers/socat.ts';
import { createManualClock } from '../clock/manual-clock.ts';
import { createRecorder } from './recorder.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

/** Real pseudo terminals joined by socat: the probe writes at `b`, the hub reads at `a`. */
const cleanups: (() => void | Promise<void>)[] = [];
afterEach(async () => {
  for (const cleanup of cleanups.splice(0).reverse()) await cleanup();
});

async function cable(): Promise<PtyPair> {
  const pair = await startPtyPair();
  cleanups.push(() => pair.stop());
  return pair;
}

/** The far end. It stays open while it writes, as socat ends when the last writer closes. */
function probeAt(path: string) {
  const file = openSync(path, 'r+');
  let isOpen = true;
  const close = () => {
    if (isOpen) closeSync(file);
    isOpen = false;
  };
  cleanups.push(close);
  return {
    close,
    say(text: string | Buffer) {
      const bytes = typeof text === 'string' ? Buffer.from(text) : text;
      for (let at = 0; at < bytes.length; ) at += writeSync(file, bytes, at);
    },
  };
}

function hubAt(
  path: string,
  more: Partial<SerialPortOptions> = {},
  clock: Clock = systemClock,
  recorder = createRecorder(),
) {
  const edge: Edge = createSerialEdge(
    {
      id: 'rack',
      path,
      baud: 9600,
      dataBits: 8,
      parity: 'none',
      stopBits: 1,
      lineEnd: 'lf',
      format: 'key_value',
      reopenMinMs: 20,
      reopenMaxMs: 100,
      ...more,
    },
    recorder.sink,
    recorder.listener,
    clock,
  );
  cleanups.push(() => edge.stop());
  const counts = () => edge.state().counts;
  return { ...recorder, edge, counts };
}

test('garbage between good lines costs no good line and makes no reading', async () => {
  const { a, b } = await cable();
  const hub = hubAt(a);
  await hub.edge.start();
  const probe = probeAt(b);
  probe.say('\n');
  const noise = [
    Buffer.from([0xff, 0xfe, 0x00, 0x80, 0x0a]),
    't=2\u0000.5\n',
    '#####\n',
    't=25,31\n',
    `${'t'.repeat(400)}\n`,
  ];
  for (let turn = 0; turn < 40; turn += 1) {
    probe.say(noise[turn % noise.length]!);
    probe.say(`t=${25 + turn / 100} ph=8.1\r\n`);
  }
  await waitUntil('the last good line is in', () => hub.values().length >= 80, {
    explain: () => JSON.stringify(hub.counts()),
  });
  expect(hub.observations.filter(({ channel }) => channel === 't').map(({ value }) => value)).toEqual(
    Array.from({ length: 40 }, (_, turn) => 25 + turn / 100),
  );
  expect(hub.observations[0]).toMatchObject({ source: 'serial:rack', channel: 't', receivedMs: expect.any(Number) });
  expect(hub.counts()).toMatchObject({ readings: 80, not_text: 16, malformed: 16, too_long: 8 });
  expect(hub.edge.state().isUp).toBe(true);
});

describe('unplug', () => {
  test('a loss that the system does not tell leaves the hub at a dead port for good', async () => {
    const [first, second] = [await cable(), await cable()];
    const name = join(first.a, '..', 'by-id');
    symlinkSync(first.a, name);
    const hub = hubAt(name, { format: 'number' });
    await hub.edge.start();
    probeAt(first.b).say('\n8.15\n');
    await waitUntil('the first probe is heard', () => hub.values().length === 1);
    // The first terminal stays as it is, and silent; the lasting name leads to another by now.
    unlinkSync(name);
    symlinkSync(second.a, name);
    await waitUntil('the other terminal is open', () => hub.counts()['opened'] === 2);
    probeAt(second.b).say('\n8.22\n');
    await waitUntil('the second probe is heard', () => hub.values().length === 2);
    expect(hub.values()).toEqual([8.15, 8.22]);
    expect(hub.ups()).toEqual([true, false, true]);
  });

  test('half a line at unplug is never a reading, and the same port is back after replug', async () => {
    const pair = await cable();
    const hub = hubAt(pair.a, { format: 'number' });
    await hub.edge.start();
    const probe = probeAt(pair.b);
    probe.say('\n8.15\n8.1');
    await waitUntil('the whole line is in', () => hub.values().length === 1);
    await pair.unplug();
    probe.close();
    await waitUntil('the unplug is told', () => hub.ups().length === 2);
    expect(hub.changes[1]?.detail).toContain('unplugged');
    expect(hub.edge.state().isUp).toBe(false);
    await pair.replug();
    const again = probeAt(pair.b);
    await waitUntil('the replug is told', () => hub.ups().length === 3);
    again.say('6\n8.17\n');
    await waitUntil('a line after the replug is in', () => hub.values().length === 2);
    expect(hub.values()).toEqual([8.15, 8.17]);
    expect(hub.ups()).toEqual([true, false, true]);
    expect(hub.counts()).toMatchObject({ partial: 2, opened: 2 });
  });

  test('a port that is not there yet is told of once and opened when it comes', async () => {
    const pair = await cable();
    await pair.unplug();
    const hub = hubAt(pair.a);
    await hub.edge.start();
    await new Promise((resolve) => setTimeout(resolve, 300));
    expect(hub.ups()).toEqual([false]);
    await pair.replug();
    await waitUntil('the port is open', () => hub.edge.state().isUp);
    expect(hub.ups()).toEqual([false, true]);
  });

  test('two devices that swap names stay themselves, since the stable path is followed anew', async () => {
    const first = await cable();
    const second = await cable();
    const stable = join(first.a, '..', 'usb-probe-0001');
    symlinkSync(first.a, stable);
    const hub = hubAt(stable, { format: 'number' });
    await hub.edge.start();
    const firstProbe = probeAt(first.b);
    firstProbe.say('\n1\n');
    await waitUntil('it is heard under the first name', () => hub.values().length === 1);
    await first.unplug();
    firstProbe.close();
    unlinkSync(stable);
    symlinkSync(second.a, stable);
    await waitUntil('it is open again', () => hub.ups().length === 3);
    probeAt(second.b).say('\n2\n');
    await waitUntil('it is heard under the second name', () => hub.values().length === 2);
    expect(hub.values()).toEqual([1, 2]);
  });

  test('a stopped edge lets the port go and reads no more', async () => {
    const { a, b } = await cable();
    const hub = hubAt(a);
    await hub.edge.start();
    const probe = probeAt(b);
    probe.say('\nt=1\n');
    await waitUntil('it reads', () => hub.values().length === 1);
    await hub.edge.stop();
    const other = hubAt(a);
    await other.edge.start();
    // A port that is still held by the first one could not be locked by the second.
    expect(other.edge.state()).toMatchObject({ counts: { opened: 1 } });
    expect(hub.edge.state()).toMatchObject({ isUp: false, lastError: 'stopped' });
  });
});

describe('noise', () => {
  /** The same noise in every run: a linear congruential generator (Numerical Recipes' constants, from memory). */
  function noise(bytes: number, seed: number): Buffer {
    let state = seed;
    return Buffer.from(
      Array.from({ length: bytes }, () => {
        state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
        return state >>> 24;
      }),
    );
  }

  test('300 kB of binary noise make no reading even where a lone digit would be one, and the probe is heard after it', async () => {
    const { a, b } = await cable();
    const hub = hubAt(a, { format: 'number' });
    await hub.edge.start();
    const probe = probeAt(b);
    const all = noise(300_000, 4);
    const lonely = all.toString('latin1').match(/(?<=\n)\d+(?=\n)/g) ?? [];
    // Else this run would prove nothing: without the proof that is asked of it, such a line would be a pH of 7.
    expect(lonely.length).toBeGreaterThan(0);
    for (let at = 0; at < all.length; at += 2000) {
      probe.say(all.subarray(at, at + 2000));
      await waitUntil('the piece is read', () => hub.counts()['bytes'] === at + 2000);
    }
    probe.say('\n8.11\n8.12\n8.13\n8.14\n');
    await waitUntil('the good lines are in', () => hub.values().length >= 4, {
      explain: () => JSON.stringify(hub.counts()),
    });
    expect(hub.values()).toEqual([8.11, 8.12, 8.13, 8.14]);
    expect(hub.ups()).toEqual([true, false, true]);
    expect(hub.changes[1]?.detail).toContain('wrong baud rate');
    expect(hub.counts()['not_text']).toBeGreaterThan(100);
  });

  test('bytes without a line end are a fault that says so, and good lines end it', async () => {
    const { a, b } = await cable();
    const hub = hubAt(a, { noLineEndBytes: 1000 });
    await hub.edge.start();
    const probe = probeAt(b);
    probe.say('x'.repeat(3000));
    await waitUntil('the fault is told', () => hub.ups().length === 2);
    expect(hub.edge.state()).toMatchObject({
      isUp: false,
      lastError: '1000 bytes without a line end: wrong baud rate or line end?',
    });
    probe.say('\nt=25\n');
    await waitUntil('it is up again', () => hub.edge.state().isUp);
    expect(hub.values()).toEqual([25]);
    expect(hub.ups()).toEqual([true, false, true]);
  });

  test('a stream of broken lines reaches the log at a bounded rate and the counters in full', async () => {
    const { a, b } = await cable();
    const hub = hubAt(a, {}, createManualClock(0));
    await hub.edge.start();
    probeAt(b).say(`\n${'?\n'.repeat(500)}`);
    await waitUntil('all are counted', () => hub.counts()['malformed'] === 500);
    expect(hub.rejects).toHaveLength(20);
    expect(hub.ups()).toEqual([true, false]);
  });
});

test('a flood is cut at the bound, the rest is counted, and the next second is heard again', async () => {
  const { a, b } = await cable();
  const clock = createManualClock(Date.parse('2026-05-01T12:00:00Z'));
  const hub = hubAt(a, { mostLinesPerSecond: 50 }, clock);
  await hub.edge.start();
  const probe = probeAt(b);
  probe.say(`\n${'t=25\n'.repeat(500)}`);
  await waitUntil('all lines are seen', () => hub.counts()['lines'] === 500);
  expect(hub.counts()).toMatchObject({ readings: 50, too_many: 450 });
  expect(hub.rejects.filter(({ reason }) => reason === 'too_many')).toHaveLength(1);
  clock.advance(1000);
  probe.say('t=26\n');
  await waitUntil('the next second is heard', () => hub.counts()['readings'] === 51);
  expect(hub.observations.at(-1)).toMatchObject({ value: 26, receivedMs: Date.parse('2026-05-01T12:00:01Z') });
});

test('a probe that repeats its last value is handed on each time: a stuck probe is for the rules to see', async () => {
  const { a, b } = await cable();
  const hub = hubAt(a);
  await hub.edge.start();
  probeAt(b).say(`\n${'t=25.31\n'.repeat(5)}`);
  await waitUntil('all are in', () => hub.values().length === 5);
  expect(hub.values()).toEqual([25.31, 25.31, 25.31, 25.31, 25.31]);
});

test('a store that fails, throws or never answers does not end the reading of the line', async () => {
  const { a, b } = await cable();
  let turn = 0;
  const recorder = createRecorder(() => {
    turn += 1;
    if (turn === 1) throw new Error('disk full');
    return turn === 2 ? Promise.reject(new Error('disk full')) : new Promise(() => undefined);
  });
  const hub = hubAt(a, { mostUnstored: 3 }, systemClock, recorder);
  await hub.edge.start();
  const probe = probeAt(b);
  probe.say('\nt=1\nt=2\n');
  await waitUntil('both failures are counted', () => hub.counts()['not_stored'] === 2);
  probe.say('t=3\nt=4\nt=5\nt=6\nt=7\n');
  await waitUntil('the bound on waiting lines is reached', () => hub.counts()['too_many'] === 2);
  expect(hub.values()).toEqual([1, 2, 3, 4, 5]);
});
