import { createServer, request, type Server, type ServerResponse } from 'node:http';
import { type AddressInfo, connect, type Socket } from 'node:net';
import mqtt from 'mqtt';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { createLiveClients, mostLiveClients } from '#hub/outside/live/live-clients.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { Reading } from '#rules/quality/reading.ts';
import { configOf, postJson, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { ask } from './ask.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

type Event = { event: string; data: unknown };

/** An open event stream, read as the standard of server-sent events says: fields by line, events by empty line. */
function listen(url: string): { events(): Event[]; stop(): void } {
  const events: Event[] = [];
  let rest = '';
  const sent = request(`${url}/api/live`, (response) => {
    response.setEncoding('utf8');
    response.on('data', (chunk: string) => {
      const blocks = (rest + chunk).split('\n\n');
      rest = blocks.pop() ?? '';
      for (const block of blocks) {
        const field = (name: string) =>
          block
            .split('\n')
            .find((line) => line.startsWith(`${name}: `))
            ?.slice(name.length + 2);
        const event = field('event');
        if (event !== undefined) events.push({ event, data: JSON.parse(field('data') ?? 'null') });
      }
    });
  });
  sent.on('error', () => {});
  sent.end();
  return { events: () => events, stop: () => sent.destroy() };
}

describe('the open page', () => {
  let scratch: ReturnType<typeof scratchRoom>;
  let hub: Hub | undefined;

  beforeEach(() => {
    scratch = scratchRoom();
  });

  afterEach(async () => {
    await hub?.stop();
    scratch.remove();
  });

  test('a page that stays open shows the values of yesterday', async () => {
    const probes = [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }];
    hub = await startHubHere(configOf(roomText(scratch.dir, { probes })));
    const page = listen(hub.url);
    await waitUntil('the page is greeted', () => page.events().some(({ event }) => event === 'hello'));
    const probe = await mqtt.connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
    await probe.publishAsync('tank/t', '25.83', { qos: 1 });
    await waitUntil('the value arrives', () => JSON.stringify(page.events()).includes('25.83'));
    const values = page.events().find(({ event }) => event === 'values');
    expect(values?.data).toEqual([
      expect.objectContaining({ system: 'display', metric: 'temperature', probe: 't', value: 25.83 }),
    ]);

    const changes = () => page.events().filter(({ event }) => event === 'changed').length;
    const before = changes();
    await postJson(`${hub.url}/api/tests`, { system: 'display', analyte: 'alkalinity', value: 8 });
    await waitUntil('the page is told to look again', () => changes() > before);
    page.stop();
    await probe.endAsync(true);
  });

  test('a program that asks whether the stream is there takes the place of a page for good', async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
    expect((await ask(hub.url, '/api/live', { method: 'HEAD' })).status).toBe(404);
    expect((await ask(hub.url, '/api/room', { method: 'HEAD' })).status).toBe(200);
  });
});

describe('pages that do not read', () => {
  let server: Server | undefined;
  let phone: Socket | undefined;

  afterEach(() => {
    vi.useRealTimers();
    phone?.destroy();
    server?.close();
  });

  const manyReadings = (round: number): Reading[] =>
    Array.from({ length: 2000 }, (_, index) => ({
      series: { system: `system-${index}`, metric: 'temperature', probe: `probe-${index}` },
      timeMs: round,
      quality: { flag: 'pass', value: 25 + index / 1000 },
    }));

  test('a phone that sleeps with the page open fills the memory of the hub', async () => {
    // The pauses of the hub are skipped; the socket and its buffers are real.
    vi.useFakeTimers({ toFake: ['setInterval'] });
    let nowMs = 0;
    const live = createLiveClients(() => nowMs);
    const responses: ServerResponse[] = [];
    server = createServer((_request, response) => {
      responses.push(response);
      live.join(response);
    });
    await new Promise<void>((resolve) => server?.listen(0, '127.0.0.1', resolve));
    phone = connect((server.address() as AddressInfo).port, '127.0.0.1');
    phone.on('error', () => {});
    phone.pause();
    phone.write('GET /api/live HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n');
    await waitUntil('the page is joined', () => live.size() === 1);

    let mostUnsent = 0;
    const rounds = 120;
    for (let round = 0; round < rounds; round += 1) {
      live.show(manyReadings(round));
      live.changed();
      vi.advanceTimersByTime(500);
      mostUnsent = Math.max(mostUnsent, responses[0]?.writableLength ?? 0);
      await new Promise((resolve) => setImmediate(resolve));
    }
    const oneRound = JSON.stringify(manyReadings(0)).length;
    // Without a bound, 120 rounds would be about 25 MB.
    expect(mostUnsent).toBeGreaterThan(0);
    expect(mostUnsent).toBeLessThan(262_144 + 2 * oneRound);
    expect(live.size()).toBe(1);

    nowMs = 31_000;
    live.show(manyReadings(rounds));
    vi.advanceTimersByTime(500);
    expect(live.size()).toBe(0);
    live.stop();
  });

  test('pages without number are let in', () => {
    const live = createLiveClients(() => 0);
    const closed = { write: () => true, on: () => undefined, destroy: () => undefined, writableLength: 0 };
    const response = closed as unknown as ServerResponse;
    for (let count = 0; count < mostLiveClients; count += 1) expect(live.join(response)).toBe(true);
    expect(live.join(response)).toBe(false);
    live.stop();
  });
});
