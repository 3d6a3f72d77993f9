import { copyFileSync, readFileSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { expect, onTestFinished, test, vi } from 'vitest';
import type { Health } from '#hub/model/answers/health-schema.ts';
import type { Hub } from '#hub/room/hub.ts';
import {
  configOf,
  getJson,
  postJson,
  type RoomBlocks,
  roomText,
  scratchRoom,
  startHubHere,
} from '../../../servers/hub-process.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';
import { lockRoom } from '../access/locked-room.ts';

// Slow on a loaded machine, and no time is asserted.
vi.setConfig({ testTimeout: 120_000 * patience() });

const quiet: RoomBlocks = { backups: { enabled: false } };

async function hubIn(dir: string, blocks: RoomBlocks = {}): Promise<Hub> {
  const hub = await startHubHere(configOf(roomText(dir, { ...quiet, ...blocks })));
  onTestFinished(() => hub.stop());
  return hub;
}

function room(): string {
  const { dir, remove } = scratchRoom();
  onTestFinished(remove);
  return dir;
}

async function healthOf(hub: Hub): Promise<Health> {
  return (await (await fetch(`${hub.url}/health`)).json()) as Health;
}

const causesOf = async (hub: Hub, part: string) =>
  (await healthOf(hub)).causes.filter((each) => each.part === part).map(({ cause }) => cause);

test('a record that was damaged and saved is called well at once, or is complained of for ever', async () => {
  const dir = room();
  const path = join(dir, 'data', 'brinekeep.db');
  const first = await startHubHere(configOf(roomText(dir, quiet)));
  for (const value of [8, 8.1])
    await postJson(`${first.url}/api/tests`, { system: 'display', analyte: 'alkalinity', value, confirmed: true });
  // As a power cut leaves it, with the head of the log lost.
  for (const suffix of ['', '-wal']) copyFileSync(path + suffix, join(dir, `left${suffix}`));
  await first.stop();
  for (const suffix of ['', '-wal']) copyFileSync(join(dir, `left${suffix}`), path + suffix);
  writeFileSync(`${path}-wal`, readFileSync(`${path}-wal`).fill(0, 0, 32));

  const hub = await hubIn(dir);
  const phone = await connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
  onTestFinished(() => phone.endAsync(true));
  expect(hub.store.journal({ kind: 'test' })).toHaveLength(2);
  expect(await causesOf(hub, 'record')).toEqual([expect.stringMatching(/all of it could be restored.*check the card/)]);
  const alarm = 'room/edges/edge_fault/store/log_damaged';
  const standing = async () =>
    (await getJson<{ id: string; priority: string }[]>(`${hub.url}/api/alarms`)).filter(({ id }) => id === alarm);
  expect(await standing()).toEqual([expect.objectContaining({ priority: 'high' })]);
  expect((await postJson(`${hub.url}/api/alarms/acknowledge`, { alarm, by: 'keeper' })).status).toBe(204);
  await waitUntil('it ends once a person knows of it', async () => (await standing()).length === 0);
  expect(await causesOf(hub, 'record')).toEqual([]);
});

test('a door that nobody can open is not told of', async () => {
  const dir = room();
  await lockRoom(dir);
  truncateSync(join(dir, 'data', 'access.json'), 60);
  const hub = await hubIn(dir);
  // Behind the shut door the page says no more than that something is wrong; the heartbeat says what.
  expect((await healthOf(hub)).status).toBe('degraded');
  const listener = await connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
  onTestFinished(() => listener.endAsync(true));
  const beats: { status: string; causes: { part: string }[] }[] = [];
  listener.on('message', (_topic, payload) => beats.push(JSON.parse(payload.toString('utf8'))));
  await listener.subscribeAsync('brinekeep/heartbeat');
  await waitUntil('the heartbeat carries it', () =>
    beats.some(({ status, causes }) => status === 'degraded' && causes.some(({ part }) => part === 'access')),
  );
});

test('a hub that stood still is called well', async () => {
  const hub = await hubIn(room());
  expect(await causesOf(hub, 'hub')).toEqual([]);
  const startMs = performance.now();
  while (performance.now() - startMs < 6_000) Math.sqrt(startMs);
  expect(await causesOf(hub, 'hub')).toEqual([expect.stringMatching(/froze for \d+ s/)]);
});

test('what is wrong with the hub is not to be seen in the room', async () => {
  const hub = await hubIn(room(), { mqtt: { url: 'mqtt://127.0.0.1:9' } });
  const { causes } = await getJson<{ causes: { part: string }[] }>(`${hub.url}/api/room`);
  expect(causes.map(({ part }) => part)).toContain('edge mqtt');
});

test('a probe whose clock is ahead vanishes without a word', async () => {
  const hub = await hubIn(room(), {
    probes: ['tank', 'sump'].map((id) => ({
      ...{ id, system: 'display', metric: 'temperature' },
      mqtt: { topic: `${id}/t`, channel: 't', format: 'senml' },
    })),
  });
  const board = await connectAsync(`mqtt://127.0.0.1:${hub.brokerPort}`);
  onTestFinished(() => board.endAsync(true));
  const send = (id: string, aheadS: number) =>
    board.publishAsync(`${id}/t`, JSON.stringify([{ n: 't', v: 25.5, t: Date.now() / 1000 + aheadS }]), { qos: 1 });
  await send('sump', 0);
  await send('tank', 7_200);
  await waitUntil('its readings are dropped', async () => (await healthOf(hub)).readings['no_usable_time'] === 1);
  expect(await causesOf(hub, 'probe tank')).toEqual([expect.stringMatching(/^its clock is 2 h ahead/)]);
  expect(await causesOf(hub, 'probe sump')).toEqual([]);
  expect((await healthOf(hub)).status).toBe('degraded');
  await send('tank', 0);
  await waitUntil('its times are right again', async () => (await healthOf(hub)).readings['accepted'] === 2);
  expect(await causesOf(hub, 'probe tank')).toEqual([]);
});
