import { createServer, type IncomingMessage } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { describe, expect, it, onTestFinished, vi } from 'vitest';
import { createInfluxEdge, type InfluxOptions } from '#adapters/influx/influx-edge.ts';
import { mirrorBatch } from '#adapters/influx/points.ts';
import type { Store } from '#adapters/ports/store.ts';
import { startInfluxd } from '../../servers/influxd.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { startVictoriaMetrics } from '../../servers/victoria-metrics.ts';
import { heldClock, type OpenedStore, openScratch, scratchFolder } from '../sqlite/scratch.ts';
import { passed, temperature } from '../sqlite/series.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

// Within the last days: a server may refuse or drop what lies in its future or past.
const startMs = Math.floor(Date.now() / 1000) * 1000 - 3_600_000;

function mirroredStore(): OpenedStore {
  return openScratch({ path: join(scratchFolder(), 'store.db'), clock: heldClock(startMs), mirrorBatch });
}

function connect(url: string, store: Store, more: Partial<InfluxOptions> = {}) {
  let aheadMs = 0;
  const changes: { isUp: boolean; detail: string }[] = [];
  const edge = createInfluxEdge(
    {
      url,
      api: 'v1',
      org: '',
      bucket: '',
      database: 'hub',
      pollMs: 20,
      pauseMs: { first: 20, longest: 100 },
      // A busy server is not a dead one.
      timeoutMs: 20_000,
      resendAfterMs: 0,
      ...more,
    },
    store,
    ({ isUp, detail }) => changes.push({ isUp, detail }),
    { nowMs: () => Date.now() + aheadMs, monotonicMs: () => performance.now() + aheadMs },
  );
  onTestFinished(() => edge.stop());
  const moveClock = (ms: number) => {
    aheadMs += ms;
  };
  return { edge, changes, moveClock };
}

/** One flush of three readings a second apart. */
function flushThree(store: Store, flush: number): number[] {
  const times = [0, 1, 2].map((second) => startMs + flush * 10_000 + second * 1_000);
  store.add(times.map((timeMs) => passed(temperature, timeMs, 25 + (timeMs % 7_000) / 10_000)));
  store.flush();
  return times;
}

const isEmpty = (store: Store) => () => store.outboxDepth('influx').waiting === 0;

describe('mirror to InfluxDB', () => {
  it('readings of an outage are missing or doubled in the long record', async () => {
    const server = await startInfluxd();
    onTestFinished(() => server.stop());
    const store = mirroredStore();
    const { edge, changes } = connect(server.url, store);
    await edge.start();
    const sent = flushThree(store, 0);
    await waitUntil('the first flush is delivered', isEmpty(store));
    await server.kill();
    for (let flush = 1; flush <= 120; flush += 1) sent.push(...flushThree(store, flush));
    await waitUntil('the edge notices', () => !edge.state().isUp);
    expect(store.outboxDepth('influx').waiting).toBe(120);
    await server.restart();
    await waitUntil('all is delivered', isEmpty(store));
    const rows = await server.query('select value from temperature');
    expect(rows.map(([timeMs]) => timeMs)).toEqual(sent);
    expect(rows.map(([, value]) => value)).toEqual(sent.map((timeMs) => 25 + (timeMs % 7_000) / 10_000));
    expect(changes.map((change) => change.isUp)).toEqual([true, false, true]);
  });

  it('one line that the server refuses holds up all others for ever', async () => {
    const server = await startInfluxd();
    onTestFinished(() => server.stop());
    const store = mirroredStore();
    // A field that holds text already: every number for it is refused, as after somebody wrote to the database by hand.
    await fetch(`${server.url}/write?db=hub&precision=ms`, {
      method: 'POST',
      body: `ph,system=display value="by hand" ${startMs}`,
    });
    const sent = flushThree(store, 0);
    const good = (timeMs: number) => passed(temperature, timeMs, 25);
    const bad = passed({ system: 'display', metric: 'ph', probe: 'tank_ph' }, startMs + 20_500, 8.1);
    store.add([good(startMs + 20_000), bad, good(startMs + 21_000)]);
    store.flush();
    store.commit({ outbox: [{ destination: 'influx', key: 'torn', payload: 'temperature,system=display valu' }] });
    sent.push(startMs + 20_000, startMs + 21_000, ...flushThree(store, 3));
    const { edge } = connect(server.url, store);
    await edge.start();
    await waitUntil('all is delivered or parked', isEmpty(store));
    expect((await server.query('select value from temperature')).map(([timeMs]) => timeMs)).toEqual(sent);
    expect(store.outboxDepth('influx')).toMatchObject({ waiting: 0, parked: 2 });
    expect(edge.state()).toMatchObject({ isUp: true, counts: { refused_lines: 2, parked: 2 } });
  });

  it('readings for an unknown database are thrown away', async () => {
    const server = await startInfluxd();
    onTestFinished(() => server.stop());
    const store = mirroredStore();
    flushThree(store, 0);
    const { edge } = connect(server.url, store, { database: 'misspelt' });
    await edge.start();
    await waitUntil('the edge says why', () => edge.state().lastError?.includes('database not found') ?? false);
    expect(store.outboxDepth('influx')).toMatchObject({ waiting: 1, parked: 0 });
  });

  it('readings that were stored before the connection broke are doubled', async () => {
    const server = await startInfluxd();
    onTestFinished(() => server.stop());
    const wire = await wireThatCuts(server.url, 3);
    const store = mirroredStore();
    const sent = [...flushThree(store, 0), ...flushThree(store, 1)];
    const { edge } = connect(wire, store);
    await edge.start();
    await waitUntil('all is delivered', isEmpty(store));
    expect(edge.state().counts).toMatchObject({ failures: 3, delivered: 2 });
    expect((await server.query('select value from temperature')).map(([timeMs]) => timeMs)).toEqual(sent);
  });
});

describe('mirror to VictoriaMetrics', () => {
  it('readings it had accepted before it was killed are missing or doubled', async () => {
    const server = await startVictoriaMetrics();
    onTestFinished(() => server.stop());
    const store = mirroredStore();
    const resendAfterMs = 3_600_000;
    const { edge, moveClock } = connect(server.url, store, { resendAfterMs });
    await edge.start();
    const sent: number[] = [];
    for (let flush = 0; flush < 20; flush += 1) sent.push(...flushThree(store, flush));
    await waitUntil('all is accepted once', () => edge.state().counts['delivered'] === 20);
    // Accepted is not stored: a kill now loses it, and the outbox still has it.
    await server.kill();
    expect(store.outboxDepth('influx').waiting).toBe(20);
    await server.restart();
    moveClock(resendAfterMs);
    await waitUntil('all is delivered twice', isEmpty(store));
    const found = await server.samples('temperature_value');
    expect(found.map((sample) => sample.timeMs).sort((a, b) => a - b)).toEqual(sent);
    expect(edge.state().counts).toMatchObject({ delivered: 20, resent: 20, parked: 0 });
  });
});

describe('mirror to VictoriaMetrics that lost nothing', () => {
  it('counts a reading twice that was delivered once more to be sure', async () => {
    const server = await startVictoriaMetrics();
    onTestFinished(() => server.stop());
    const store = mirroredStore();
    const resendAfterMs = 3_600_000;
    const { edge, moveClock } = connect(server.url, store, { resendAfterMs });
    await edge.start();
    const sent: number[] = [];
    for (let flush = 0; flush < 20; flush += 1) sent.push(...flushThree(store, flush));
    await waitUntil('all is accepted once', () => edge.state().counts['delivered'] === 20);
    // Asked for, so that it has been written by now.
    expect(await server.samples('temperature_value')).toHaveLength(sent.length);
    moveClock(resendAfterMs);
    await waitUntil('all is delivered twice', isEmpty(store));
    expect(edge.state().counts).toMatchObject({ delivered: 20, resent: 20 });
    const found = await server.samples('temperature_value');
    expect(found.map((sample) => sample.timeMs).sort((a, b) => a - b)).toEqual(sent);
  });
});

/** Passes requests on, and cuts the connection after the server has answered, for the first so many. */
async function wireThatCuts(url: string, cuts: number): Promise<string> {
  let passed = 0;
  const wire = createServer(async (request, response) => {
    const parts: Buffer[] = [];
    for await (const part of request) parts.push(part as Buffer);
    const headers = { 'content-encoding': request.headers['content-encoding'] ?? 'identity' };
    const answer = await fetch(url + request.url, { method: 'POST', headers, body: Buffer.concat(parts) });
    expect(answer.status).toBe(204);
    passed += 1;
    if (passed <= cuts) request.socket.destroy();
    else response.writeHead(204).end();
  });
  await new Promise<void>((resolve) => wire.listen(0, '127.0.0.1', resolve));
  onTestFinished(() => {
    wire.closeAllConnections();
    wire.close();
  });
  return `http://127.0.0.1:${(wire.address() as AddressInfo).port}`;
}

/** A server that misbehaves as told: real ones cannot be made to do so at a wanted moment. */
type Trouble = number | 'cut' | 'silence' | { floods: number; type: string };
async function strangeServer(answer: (request: IncomingMessage, index: number) => Trouble) {
  let index = 0;
  const server = createServer((request, response) => {
    request.resume();
    request.on('end', () => {
      const status = answer(request, index);
      index += 1;
      if (status === 'cut') request.socket.destroy();
      else if (typeof status === 'number') response.writeHead(status).end();
      else if (typeof status === 'object') {
        response.writeHead(status.floods, { 'content-type': status.type });
        const flood = setInterval(() => response.write(Buffer.alloc(1_000_000, 32)), 1);
        response.on('close', () => clearInterval(flood));
      }
    });
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  onTestFinished(() => {
    server.closeAllConnections();
    server.close();
  });
  return { url: `http://127.0.0.1:${(server.address() as AddressInfo).port}`, requests: () => index };
}

describe('mirror to a server in trouble', () => {
  it.each([
    ['a cut connection', 'cut' as const],
    ['no answer in time', 'silence' as const],
    ['another success than 204', 200],
    ['an overload', 503],
    ['a wrong token', 401],
    ['a success without end', { floods: 200, type: 'application/json' }],
    ['a reason without end', { floods: 503, type: 'application/json' }],
    ['a page without end', { floods: 503, type: 'text/html' }],
  ])('%s counts as delivered', async (_name, trouble) => {
    const server = await strangeServer((_request, index) => (index < 2 ? trouble : 204));
    const store = mirroredStore();
    flushThree(store, 0);
    const timeoutMs = trouble === 'silence' || typeof trouble === 'object' ? 1_000 : 20_000;
    const { edge, changes } = connect(server.url, store, { api: 'v2', timeoutMs });
    await edge.start();
    await waitUntil('it is delivered', isEmpty(store));
    expect(server.requests()).toBe(3);
    expect(edge.state().counts).toMatchObject({ failures: 2, delivered: 1, parked: 0 });
    expect(changes.map((change) => change.isUp)).toEqual([false, true]);
  });

  it.each([
    ['in the pause after a failure', 503, 2_000],
    ['while it waits for an answer', 'silence' as const, 3_600_000],
  ])('a hub that stops %s waits for a server that never answers', async (_name, trouble, timeoutMs) => {
    const server = await strangeServer(() => trouble);
    const store = mirroredStore();
    flushThree(store, 0);
    const { edge } = connect(server.url, store, { timeoutMs, pauseMs: { first: 3_600_000, longest: 3_600_000 } });
    await edge.start();
    await waitUntil('it was asked', () => server.requests() === 1);
    if (trouble !== 'silence') await waitUntil('it failed once', () => edge.state().lastError !== undefined);
    await edge.stop();
    expect(store.outboxDepth('influx').waiting).toBe(1);
  });
});
