import mqtt, { type MqttClient } from 'mqtt';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import { adaptersForVerbs } from '#hub/compose.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { isMissing } from '../../machine/parts.mjs';
import {
  configOf,
  getJson,
  type HubProcess,
  postJson,
  roomText,
  scratchRoom,
  startHubHere,
  startHubProcess,
} from '../../servers/hub-process.ts';
import { type Mosquitto, startMosquitto } from '../../servers/mosquitto.ts';
import { patience, waitUntil } from '../../servers/server-process.ts';

const alarmId = 'display/temperature/out_of_band/high';

type Heard = { topic: string; text: string; isRetained: boolean };

/** The hub is started as a process of its own, twice. */
const timeout = 120_000 * patience();

describe.skipIf(isMissing('mosquitto'))('a hub that dies, and a disk that refuses', { timeout }, () => {
  let scratch: ReturnType<typeof scratchRoom>;
  let broker: Mosquitto;
  let room: MqttClient;
  let heard: Heard[];
  let feeding: NodeJS.Timeout;
  let temperature_C: number;
  let child: HubProcess | undefined;
  let hub: Hub | undefined;

  const phone = (text: string) =>
    heard.filter(({ topic, text: line }) => topic === 'brinekeep/phone' && line.includes(text));
  const states = () =>
    heard
      .filter(({ topic, isRetained }) => topic === `brinekeep/alarms/${alarmId}` && !isRetained)
      .map(({ text }) => JSON.parse(text) as { state: string; occurrence: number })
      .map(({ state, occurrence }) => `${state} ${occurrence}`);
  const alarms = (url: string) => getJson<StandingAlarm[]>(`${url}/api/alarms`);

  const text = () =>
    roomText(scratch.dir, {
      mqtt: { url: `mqtt://127.0.0.1:${broker.port}` },
      probes: [{ id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } }],
      rules: [{ rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0.01, off_delay_minutes: 0.01 }],
    });

  beforeEach(async () => {
    scratch = scratchRoom();
    broker = await startMosquitto();
    heard = [];
    temperature_C = 27.4;
    room = await mqtt.connectAsync(`mqtt://127.0.0.1:${broker.port}`);
    room.on('message', (topic, payload, { retain }) =>
      heard.push({ topic, text: payload.toString('utf8'), isRetained: retain }),
    );
    await room.subscribeAsync(['brinekeep/phone', 'brinekeep/alarms/#'], { qos: 1 });
    let tick = 0;
    feeding = setInterval(() => {
      tick += 1;
      // QoS 0: what is measured while the hub is away is gone, as with most probes.
      room.publish('tank/t', (temperature_C + (tick % 3) / 100).toFixed(2));
    }, 100);
  });

  afterEach(async () => {
    clearInterval(feeding);
    await child?.end('SIGKILL');
    await hub?.stop();
    child = undefined;
    hub = undefined;
    await room.endAsync(true);
    await broker.stop();
    scratch.remove();
  });

  test('after a crash the phone is told of the same alarm again, or never of its end', async () => {
    child = await startHubProcess(scratch.dir, text());
    await waitUntil('the phone is told', () => phone('above the band').length === 1, { explain: child.log });
    await postJson(`${child.url}/api/alarms/acknowledge`, { alarm: alarmId, by: 'Ana' });
    await waitUntil('the acknowledgement is told', () => states().includes('acknowledged 1'));
    // Killed before the broker's answer is written down the hub would say it once more, as it must.
    const { url: dyingUrl } = child;
    await waitUntil('nothing waits to be told', async () => {
      return (
        (await getJson<{ outbox: { mqtt?: { waiting: number } } }>(`${dyingUrl}/health`)).outbox.mqtt?.waiting === 0
      );
    });
    await child.end('SIGKILL');

    child = await startHubProcess(scratch.dir, text());
    const { url, log } = child;
    const [standing] = await alarms(url);
    expect(standing).toMatchObject({ id: alarmId, state: 'acknowledged', isStanding: true, occurrence: 1 });
    const health = await getJson<{ unclean_stop: string | null; readings: { accepted: number } }>(`${url}/health`);
    expect(health.unclean_stop).toMatch(/\S/);
    // Long enough out of the band for a second alarm, had the first been forgotten.
    await waitUntil('readings flow again for a while', async () => {
      return (await getJson<typeof health>(`${url}/health`)).readings.accepted > 20;
    });
    expect(phone('above the band')).toHaveLength(1);

    temperature_C = 25.8;
    await waitUntil('the phone is told of its end', () => phone('Back to normal').length > 0, { explain: log });
    await waitUntil('the topic of the alarm tells of its end', () => states().includes('cleared 1'), { explain: log });
    expect(states()).toEqual(['raised 1', 'acknowledged 1', 'cleared 1']);
    expect(phone('Back to normal')).toHaveLength(1);
    expect(await alarms(url)).toEqual([]);
  });

  /** The real store, until its disk is full: then it refuses every commit, as SQLite does, and takes readings as before. */
  function storeOnAFullDisk(): { adapters: Pick<HubAdapters, 'openStore'>; setFull(full: boolean): void } {
    let isFull = false;
    return {
      setFull(full) {
        isFull = full;
      },
      adapters: {
        openStore(choice) {
          const real = adaptersForVerbs.hub.openStore(choice);
          return new Proxy(real, {
            get(target, name, receiver) {
              if (name === 'commit' && isFull) {
                return () => {
                  throw new Error('SQLITE_FULL: database or disk is full');
                };
              }
              return Reflect.get(target, name, receiver) as unknown;
            },
          });
        },
      },
    };
  }

  test('with a full disk the tank overheats in silence, and a test is said to be stored', async () => {
    const disk = storeOnAFullDisk();
    temperature_C = 25.8;
    hub = await startHubHere(configOf(text()), disk.adapters);
    const { url } = hub;
    const health = () => getJson<{ readings: { accepted: number } }>(`${url}/health`);
    await waitUntil('readings flow', async () => (await health()).readings.accepted > 5);
    disk.setFull(true);
    temperature_C = 27.4;
    await waitUntil('the phone is told all the same', () => phone('above the band').length > 0);
    await waitUntil('the topic of the alarm tells it too', () => states().length > 0);
    expect(states()).toEqual(['raised 1']);
    expect((await alarms(url)).map(({ id }) => id)).toEqual([alarmId]);

    const test = { system: 'display', analyte: 'alkalinity', value: 8.1 };
    const refused = await postJson(`${url}/api/tests`, test);
    expect(refused.status).toBe(507);
    expect(refused.headers.get('content-type')).toMatch(/^application\/problem\+json/);
    expect(await getJson<unknown[]>(`${url}/api/entries?kind=test`)).toEqual([]);

    disk.setFull(false);
    expect((await postJson(`${url}/api/tests`, test)).status).toBe(201);
    temperature_C = 25.8;
    await waitUntil('the phone is told of its end', () => phone('Back to normal').length > 0);
    // What was sent from memory is in the record as soon as the disk takes it.
    const kept = async () => {
      const entries = await getJson<{ body: { alarm: string; state: string } }[]>(`${url}/api/entries?kind=alarm`);
      return entries.filter(({ body }) => body.alarm === alarmId).map(({ body }) => body.state);
    };
    await waitUntil('the record has both', async () => (await kept()).length >= 2);
    expect((await kept()).toSorted()).toEqual(['cleared', 'raised']);
  });
});
