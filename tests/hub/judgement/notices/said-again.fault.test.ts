import mqtt, { type IClientOptions, type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { isMissing } from '../../../machine/parts.mjs';
import { freePort } from '../../../servers/free-port.ts';
import {
  type HubProcess,
  postJson,
  type RoomBlocks,
  roomText,
  scratchRoom,
  startHubProcess,
} from '../../../servers/hub-process.ts';
import { startMosquitto } from '../../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';

vi.setConfig({ testTimeout: 120_000 * patience() });

const notices = { group_seconds: { high: 0, medium: 0, low: 0 }, most_per_hour: 12 };
const stateTopic = 'brinekeep/alarms/display/alkalinity/out_of_band/high/test';
let scratch: ReturnType<typeof scratchRoom>;
let hub: HubProcess | undefined;
let ends: (() => unknown)[];
beforeEach(() => {
  scratch = scratchRoom();
  ends = [];
});
afterEach(async () => {
  for (const end of ends.toReversed()) await end();
  await hub?.end('SIGKILL');
  hub = undefined;
  scratch.remove();
});

type Phone = { client: MqttClient; lines: string[]; states: { state: string; repeat?: true }[] };

/** An app that comes back every so often, with or without a session that lasts. */
async function startPhone(port: number, more: IClientOptions): Promise<Phone> {
  const client = await mqtt.connectAsync(`mqtt://127.0.0.1:${port}`, {
    ...{ reconnectPeriod: 300, reconnectOnConnackError: true },
    ...more,
  });
  ends.push(() => client.endAsync(true));
  client.on('error', () => {});
  const phone: Phone = { client, lines: [], states: [] };
  client.on('message', (topic, payload) => {
    if (topic === 'brinekeep/phone') phone.lines.push(payload.toString('utf8'));
    else if (payload.length > 0) phone.states.push(JSON.parse(payload.toString('utf8')) as Phone['states'][number]);
  });
  await client.subscribeAsync(['brinekeep/phone', stateTopic], { qos: 1 });
  return phone;
}

async function startHub(blocks: RoomBlocks): Promise<HubProcess> {
  hub = await startHubProcess(scratch.dir, roomText(scratch.dir, { notices, ...blocks }));
  return hub;
}

const enterHighTest = async () => {
  const body = { system: 'display', analyte: 'alkalinity', value: 12, confirmed: true };
  expect((await postJson(`${hub?.url}/api/tests`, body)).status).toBe(201);
};
const isDelivered = async (): Promise<boolean> => {
  const health = await fetch(`${hub?.url}/health`);
  const { outbox } = (await health.json()) as { outbox: { mqtt: { waiting: number } } };
  return outbox.mqtt.waiting === 0;
};
const hears = (phone: Phone, text: RegExp) =>
  waitUntil(`the phone hears ${text}`, () => phone.lines.some((line) => text.test(line)), {
    withinMs: 40_000,
    explain: () => `${phone.lines.join('\n')}\n${hub?.log()}`,
  });
const first = /at the last test, above the band/;
const again = /since \d\d:\d\d.*at the last test, above the band/;

test.each([
  ['an app with a session that lasts', { clientId: 'app', clean: false }],
  ['an app without one', { clean: true }],
])('the hub’s own broker dies with what waits for %s: the line never comes', async (_which, session) => {
  const port = await freePort();
  const blocks = { broker: { port } };
  await startHub(blocks);
  const phone = await startPhone(port, session);
  // Long enough for its subscription to be on disk with the next flush.
  await new Promise((resolve) => setTimeout(resolve, 2000));
  await phone.client.endAsync(true);
  await enterHighTest();
  await new Promise((resolve) => setTimeout(resolve, 500));
  expect(phone.lines).toEqual([]);
  await hub?.end('SIGKILL');
  await startHub(blocks);
  const back = await startPhone(port, session);
  await hears(back, again);
  await waitUntil('the alarm stands on its topic', () => back.states.some(({ state }) => state === 'raised'));
  expect(back.lines.filter((line) => first.test(line))).toHaveLength(1);
});

describe.skipIf(isMissing('mosquitto'))('an outside broker', () => {
  test('that lost what it held knows of no alarm, and nobody who was away is told', async () => {
    const broker = await startMosquitto();
    ends.push(() => broker.stop());
    await startHub({ mqtt: { url: `mqtt://127.0.0.1:${broker.port}` } });
    await enterHighTest();
    const before = await startPhone(broker.port, { clean: true });
    await waitUntil('the alarm stands on its topic', () => before.states.some(({ state }) => state === 'raised'));
    // Not only seen by the phone: what the hub holds for undelivered it sends again as it was.
    await waitUntil('the broker has acknowledged it', isDelivered);
    await before.client.endAsync(true);
    await broker.kill();
    await broker.restart('persistence false');
    const phone = await startPhone(broker.port, { clientId: 'app', clean: false });
    await hears(phone, again);
    await waitUntil('its topic says so again', () => phone.states.some(({ state }) => state === 'raised'));
    expect(phone.states.at(-1)).toMatchObject({ state: 'raised', repeat: true });
    // Once: it is not said each time that the link comes back to a broker that knows it.
    expect(phone.lines.filter((line) => first.test(line))).toHaveLength(1);
  });
});
