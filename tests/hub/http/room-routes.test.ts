import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { isoWeekAt } from '#hub/model/calendar/iso-week.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { cellsByPython } from '../../adapters/csv/independent-reader.ts';
import { configOf, roomText, scratchRoom, startHubHere } from '../../servers/hub-process.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';
import { ask, problemIn } from './ask.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience(), hookTimeout: 120_000 * patience() });

type Room = {
  site: string;
  systems: { id: string; metrics: { metric: string; value: number | null; flag: string; probe: string | null }[] }[];
};

describe('what the page and other programs read over HTTP', () => {
  const scratch = scratchRoom();
  let hub: Hub;
  let probe: MqttClient;
  const temperature = async () =>
    (await ask(hub.url, '/api/room')).json<Room>().systems[0]?.metrics.find((each) => each.metric === 'temperature');

  beforeAll(async () => {
    const probes = [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }];
    const rules = [{ rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0, off_delay_minutes: 0 }];
    hub = await startHubHere(configOf(roomText(scratch.dir, { probes, rules })));
    probe = await mqtt.connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
    await probe.publishAsync('tank/t', '27.31', { qos: 1 });
    await waitUntil('the reading has arrived', async () => (await temperature())?.value === 27.31);
  });

  afterAll(async () => {
    await probe?.endAsync(true);
    await hub?.stop();
    scratch.remove();
  });

  test('the room shows no tank, or another number than the probe sent', async () => {
    const room = (await ask(hub.url, '/api/room')).json<Room>();
    expect(room.site).toBe('Fish room (invented)');
    expect(room.systems.map(({ id }) => id)).toEqual(['display']);
    expect(await temperature()).toMatchObject({ value: 27.31, probe: 't' });
  });

  test('a curve is empty, or of another probe', async () => {
    const from = new Date(Date.now() - 3_600_000).toISOString();
    const to = new Date(Date.now() + 60_000).toISOString();
    const path = (metric: string, end: string) => `/api/series/display/${metric}?from=${from}&to=${end}`;
    expect((await ask(hub.url, path('temperature', to))).json()).toMatchObject({
      probe: 't',
      points: [{ min: 27.31, max: 27.31 }],
    });
    problemIn(await ask(hub.url, path('ph', to)), 404);
    problemIn(await ask(hub.url, path('temperature', from)), 400);
    problemIn(await ask(hub.url, path('vitality', to)), 400);
    problemIn(await ask(hub.url, '/api/series/display/temperature'), 400);
  });

  test('an alarm cannot be seen, or not acknowledged', async () => {
    const alarms = async () => (await ask(hub.url, '/api/alarms')).json<StandingAlarm[]>();
    const [alarm] = await alarms();
    expect(alarm).toMatchObject({
      system: 'display',
      metric: 'temperature',
      rule: 'out_of_band',
      state: 'unacknowledged',
    });
    const acknowledge = (body: unknown) => ask(hub.url, '/api/alarms/acknowledge', { body });
    problemIn(await acknowledge({ alarm: 'display/ph/out_of_band/low' }), 404);
    problemIn(await acknowledge({}), 400);
    problemIn(await acknowledge({ alarm: alarm?.id, until: 'never' }), 400);
    expect((await alarms())[0]?.state).toBe('unacknowledged');
    expect((await acknowledge({ alarm: alarm?.id, by: 'Ana' })).status).toBe(204);
    expect((await alarms())[0]?.state).toBe('acknowledged');
  });

  test('advice of a tank that is not there passes for "nothing to do"', async () => {
    expect((await ask(hub.url, '/api/advice/display')).json<unknown[]>()).toBeInstanceOf(Array);
    problemIn(await ask(hub.url, '/api/advice/sump'), 404);
  });

  test('the health page hides an edge', async () => {
    const health = (await ask(hub.url, '/health')).json<{ status: string; edges: { name: string; up: boolean }[] }>();
    expect(health.status).toBe('ok');
    expect(health.edges.map(({ name }) => name)).toContain('mqtt');
    expect(health.edges.every(({ up }) => up)).toBe(true);
  });

  test('the week cannot be opened in a spreadsheet', async () => {
    const week = isoWeekAt(Date.now(), 'Europe/Lisbon');
    const file = join(scratch.dir, 'downloaded.csv');
    const cellsOf = (text: string) => {
      writeFileSync(file, text);
      return cellsByPython(file);
    };
    for (const name of ['daily', 'tests-doses', 'demand', 'alarms']) {
      const answer = await ask(hub.url, `/api/weeks/${week}/${name}.csv`);
      expect(answer.status).toBe(200);
      expect(answer.type).toBe('text/csv; charset=utf-8');
      expect(answer.headers['content-disposition']).toBe(`attachment; filename="${name}-${week}.csv"`);
      const [header, ...rows] = cellsOf(answer.text);
      for (const row of rows) expect(row).toHaveLength(header?.length ?? 0);
    }
    const alarms = cellsOf((await ask(hub.url, `/api/weeks/${week}/alarms.csv`)).text);
    expect(alarms.flat().join(' ')).toContain('out_of_band');
    problemIn(await ask(hub.url, '/api/weeks/2026-W54/daily.csv'), 404);
    problemIn(await ask(hub.url, '/api/weeks/2026-13/daily.csv'), 400);
    problemIn(await ask(hub.url, `/api/weeks/${week}/passwords.csv`), 400);
  });

  test('an address that does not exist, or is broken, is answered with a page or a stack trace', async () => {
    problemIn(await ask(hub.url, '/api/nothing'), 404);
    problemIn(await ask(hub.url, '/api/room', { method: 'DELETE' }), 404);
    problemIn(await ask(hub.url, '/api/advice/%E0%A4%A'), 400);
    problemIn(await ask(hub.url, '/../../etc/passwd'), 404);
    problemIn(await ask(hub.url, `/api/advice/${'x'.repeat(300)}`), 414);
  });

  test.each([
    ['a name that was pointed at this machine', { host: 'evil.example' }],
    ['a name that only begins like this machine', { host: 'localhost.evil.example' }],
    ['a page of another site', { origin: 'https://evil.example' }],
    ['a page without a home', { origin: 'null' }],
    ['a page that carries this name in front', { origin: 'http://127.0.0.1.evil.example' }],
  ])('%s may read and write the room', async (_who, headers) => {
    problemIn(await ask(hub.url, '/api/room', { headers }), 403);
    const body = { system: 'display', analyte: 'alkalinity', value: 8 };
    problemIn(await ask(hub.url, '/api/tests', { body, headers }), 403);
    expect((await ask(hub.url, '/api/entries?kind=test')).json<unknown[]>()).toEqual([]);
  });

  test('the own page is refused under one of the names of this machine', async () => {
    for (const name of ['127.0.0.1', 'localhost', '[::1]']) {
      const { port } = new URL(hub.url);
      const headers = { host: `${name}:${port}`, origin: `http://${name}:${port}` };
      expect((await ask(hub.url, '/api/room', { headers })).status).toBe(200);
    }
  });
});
