import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import mqtt, { type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import type { Notice, Notifier, Sent } from '#adapters/ports/notifier.ts';
import { adaptersForVerbs } from '#hub/compose.ts';
import type { Hub } from '#hub/room/hub.ts';
import { isMissing } from '../../../machine/parts.mjs';
import { freePort } from '../../../servers/free-port.ts';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { type Mosquitto, startMosquitto } from '../../../servers/mosquitto.ts';
import { type OddBroker, packetTypes, startOddBroker } from '../../../servers/odd-broker.ts';
import { patience, waitUntil } from '../../../servers/server-process.ts';

vi.setConfig({ testTimeout: 120_000 * patience() });

const notices = { most_per_hour: 1000, group_seconds: { high: 0, medium: 0, low: 0 } };
const systems = ['display', 'frag'].map((id) => ({
  ...{ id, name: `Tank ${id}`, volume_l: 400 },
  bands: { alkalinity: { low: 7.5, high: 9 }, calcium: { low: 400, high: 450 } },
}));

let scratch: ReturnType<typeof scratchRoom>;
let hub: Hub | undefined;
beforeEach(() => {
  scratch = scratchRoom();
});
afterEach(async () => {
  await hub?.stop();
  hub = undefined;
  scratch.remove();
});

type Health = { status: string; causes: { part: string; cause: string }[] };
const health = () => getJson<Health>(`${hub?.url}/health`);
const causeOf = async (part: string) => (await health()).causes.find((each) => each.part === part)?.cause;
/** A test outside the band: an alarm at once. */
const enter = async (system: string, analyte: string, value: number) => {
  const answer = await postJson(`${hub?.url}/api/tests`, { system, analyte, value, confirmed: true });
  expect(answer.status).toBe(201);
};

describe.skipIf(isMissing('mosquitto'))('a broker that does not do its part', () => {
  let broker: Mosquitto;
  let odd: OddBroker;
  let phone: MqttClient;
  let lines: string[];

  async function start(config: string | undefined, protocol: '3.1.1' | '5', port?: number): Promise<void> {
    broker = await startMosquitto(config === undefined ? {} : { config });
    odd = await startOddBroker(broker.port);
    lines = [];
    phone = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`);
    phone.on('message', (_topic, payload) => lines.push(payload.toString('utf8')));
    await phone.subscribeAsync('brinekeep/phone', { qos: 1 });
    const url = `mqtt://127.0.0.1:${port ?? odd.port}`;
    hub = await startHubHere(configOf(roomText(scratch.dir, { mqtt: { url, protocol }, notices, systems })));
  }
  afterEach(async () => {
    await hub?.stop();
    hub = undefined;
    await phone?.endAsync(true);
    await odd?.stop();
    await broker?.stop();
  });
  const hears = (text: string) =>
    waitUntil(`the phone hears of ${text}`, () => lines.some((line) => line.includes(text)));

  test('one topic that the broker forbids (MQTT 5) silences every alarm after it', async () => {
    const acl = join(scratch.dir, 'acl');
    writeFileSync(acl, 'topic readwrite #\ntopic deny brinekeep/alarms/display/#\n');
    broker = await startMosquitto();
    await broker.stop();
    await start(`acl_file ${acl}`, '5');
    await enter('display', 'alkalinity', 12);
    await hears('Tank display');
    await enter('frag', 'alkalinity', 12);
    await hears('Tank frag');
    await waitUntil('health tells of it', async () => (await causeOf('notices')) !== undefined);
    expect(await causeOf('notices')).toMatch(/mqtt refuses .*brinekeep\/alarms\/display/);
    expect((await health()).status).toBe('degraded');
    // All that was not refused is out, and what was is kept.
    const depth = hub?.store.outboxDepth('mqtt');
    expect(depth?.waiting).toBe(0);
    expect(depth?.parked).toBeGreaterThan(0);
  });

  test('one topic on which the broker hangs up (MQTT 3.1.1) silences every alarm after it', async () => {
    await start(undefined, '3.1.1');
    odd.fromClient = ({ topic }) => (topic?.startsWith('brinekeep/alarms/display/') === true ? 'hang_up' : true);
    await enter('display', 'alkalinity', 12);
    await hears('Tank display');
    await enter('frag', 'alkalinity', 12);
    await hears('Tank frag');
    await waitUntil('health tells of it', async () => (await causeOf('notices')) !== undefined);
  });

  test('a broker that answers pings and never acknowledges is taken for a good one, and a stop hangs for ever', async () => {
    await start(undefined, '3.1.1');
    await waitUntil('the link is up', async () => (await causeOf('edge mqtt')) === undefined);
    odd.fromClient = ({ type }) => type !== packetTypes.publish;
    await enter('display', 'alkalinity', 12);
    await waitUntil('health tells of it', async () => /acknowledge/.test((await causeOf('notices')) ?? ''), {
      withinMs: 60_000,
    });
    odd.fromClient = () => true;
    await hears('Tank display');
    await waitUntil('all is well again', async () => (await causeOf('notices')) === undefined, { withinMs: 60_000 });
    // Hangs again, and is stopped like that.
    odd.fromClient = ({ type }) => type !== packetTypes.publish;
    await enter('frag', 'alkalinity', 12);
    await hub?.stop();
    hub = undefined;
  });

  test('a broker that answers no subscription is neither up nor down', async () => {
    await start(undefined, '3.1.1', await freePort());
    await hub?.stop();
    odd.toClient = ({ type }) => type !== packetTypes.suback;
    const url = `mqtt://127.0.0.1:${odd.port}`;
    hub = await startHubHere(configOf(roomText(scratch.dir, { mqtt: { url }, notices, systems })));
    await waitUntil('it says why', async () => /subscription/.test((await causeOf('edge mqtt')) ?? ''), {
      withinMs: 60_000,
    });
    odd.toClient = () => true;
    await waitUntil('the link is up', async () => (await causeOf('edge mqtt')) === undefined, { withinMs: 60_000 });
  });
});

/** A second kind of way to people, which has a place for lines alone. */
function createBell(rung: string[], answer: () => Sent): Notifier {
  return {
    destination: 'bell',
    itemOf: (notice: Notice) => (notice.is === 'line' ? notice.line : undefined),
    placeOf: () => undefined,
    isUp: () => true,
    async send(item) {
      const sent = answer();
      if (sent.is === 'acknowledged') rung.push(item);
      return sent;
    },
    reconnect: () => {},
  };
}

test('a second way to people needs more than a folder and a line, or is told the same for ever', async () => {
  const rung: string[] = [];
  let answer: Sent = { is: 'refused', why: 'out of order' };
  const changed = {
    createNotifiers: (parts: Parameters<typeof adaptersForVerbs.hub.createNotifiers>[0]) => [
      ...adaptersForVerbs.hub.createNotifiers(parts),
      createBell(rung, () => answer),
    ],
  };
  // Nobody is at the broker's port: the other way does not wait for it.
  const url = `mqtt://127.0.0.1:${await freePort()}`;
  const config = configOf(roomText(scratch.dir, { mqtt: { url }, notices, systems }));
  hub = await startHubHere(config, changed);
  await enter('display', 'alkalinity', 12);
  await waitUntil('health tells of it', async () => /bell refuses/.test((await causeOf('notices')) ?? ''));
  await hub.stop();
  answer = { is: 'acknowledged' };
  hub = await startHubHere(config, changed);
  await waitUntil('the bell rings', () => rung.some((line) => line.includes('Tank display')));
  await waitUntil('nothing waits for it', () => hub?.store.outboxDepth('bell').waiting === 0);
  const { length } = rung;
  await hub.stop();
  hub = await startHubHere(config, changed);
  await enter('frag', 'alkalinity', 12);
  await waitUntil('the bell rings again', () => rung.some((line) => line.includes('Tank frag')));
  expect(rung.filter((line) => line.includes('Tank display'))).toHaveLength(length);
  expect(hub.store.outboxDepth('mqtt').waiting).toBeGreaterThan(0);
});
