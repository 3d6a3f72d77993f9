import { writeFileSync } from 'node:fs';
import { roomText, startHubProcess } from '../servers/hub-process.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { waitUntil } from '../servers/server-process.ts';
import { startPtyPair } from '../servers/socat.ts';
import type { Fault } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { ask, atPace, edgeCount, eventKey, startPhone, startProbeLine, timeUntil } from './people.ts';
import { promptRules, storePathIn } from './rooms.ts';
import { doubledIn, missingOf, readStore } from './stored.ts';

const serialProbes = 60;
/** So many that a line stays below the 256 bytes that are read of one. */
const probesOfALine = 15;
/** Leave their bands and come back before the broker goes, so that it is seen to work. */
const toldBefore = 12;
/** A notice a minute: more than a keeper would bear, and an hour of them. */
const noticesOfAnHour = 60;
/**
 * While the broker is away each probe leaves its band once, one after the other, and comes back: an alarm that comes and goes is
 * held as chattering, and so many of few probes would put no more at stake.
 */
const leavesUntil = 0.7;
const staysOutFor = 0.25;

type Health = { outbox: { mqtt: { waiting: number } }; readings: { accepted: number } };

export const brokerGone: Fault = {
  name: 'broker',
  title: 'the outside broker killed (SIGKILL) and away, while serial probes raise and clear alarms; then back',
  amount: { of: 's away', short: 5, long: 3600 },
  needs: ['mosquitto', 'socat'],
  async run(scene, seconds) {
    const dir = scene.folder();
    const broker = await startMosquitto({ config: 'max_queued_messages 100000' });
    scene.atEnd(broker.stop);
    const cable = await startPtyPair();
    scene.atEnd(cable.stop);
    const ids = Array.from({ length: serialProbes }, (_, index) => `s${index}`);
    const hub = await startHubProcess(
      dir,
      roomText(dir, {
        ...promptRules,
        mqtt: { url: `mqtt://127.0.0.1:${broker.port}` },
        systems: ['display', ...ids].map((id) => {
          return { id, name: `Tank ${id}`, volume_l: 400, bands: { temperature: { low: 25, high: 26.5 } } };
        }),
        serial: [{ id: 'bench', path: cable.a, baud: 115_200, format: 'key_value' }],
        probes: [
          { id: 't', system: 'display', metric: 'temperature', mqtt: { topic: 'tank/t' } },
          ...ids.map((id) => ({ id, system: id, metric: 'temperature', serial: { port: 'bench', channel: id } })),
        ],
      }),
    );
    scene.atEnd(() => hub.end('SIGKILL'));
    const health = () => ask<Health>(`${hub.url}/health`);
    const phone = await startPhone(scene, broker.port);
    const watch = watchHealth(scene, () => hub.url, phone);
    const line = await startProbeLine(scene, broker.port);
    const byMqtt = atPace(scene, 10, (n) => line.publish('tank/t', (25.2 + (n % 100) / 1000).toFixed(3), { qos: 0 }));
    let isOut = (at: number) => at < toldBefore;
    const bySerial = atPace(scene, 4, () => {
      for (let from = 0; from < serialProbes; from += probesOfALine) {
        const words = ids.slice(from, from + probesOfALine).map((id, at) => `${id}=${isOut(from + at) ? 26.7 : 26.3}`);
        writeFileSync(cable.b, `${words.join(' ')}\n`);
      }
    });
    const told = (count: number) =>
      waitUntil('alarms are told', () => phone.eventKeys().length >= count, { explain: hub.log });
    await told(toldBefore);
    isOut = () => false;
    await told(2 * toldBefore);

    const startMs = performance.now();
    await broker.kill();
    isOut = (at) => {
      const passed = (performance.now() - startMs) / 1000 / seconds;
      const leaves = (leavesUntil * at) / serialProbes;
      return passed >= leaves && passed < leaves + staysOutFor;
    };
    await new Promise((resolve) => setTimeout(resolve, seconds * 1000));
    await waitUntil('an hour of notices waits', async () => (await health()).outbox.mqtt.waiting > noticesOfAnHour);
    const awaySeconds = (performance.now() - startMs) / 1000;
    const { waiting } = (await health()).outbox.mqtt;
    await broker.restart();
    const mqttReadings = () => edgeCount(hub.url, 'mqtt', 'readings');
    const readBefore = await mqttReadings();
    const probesBackMs = await timeUntil(
      'probes by MQTT are back',
      async () => (await mqttReadings()) > readBefore,
      120_000,
    );
    bySerial.stop();
    byMqtt.stop();
    const noticesOutMs = await timeUntil(
      'all notices are out',
      async () => (await health()).outbox.mqtt.waiting === 0,
      120_000,
    );
    const answers = await watch.row('broker away');
    await hub.end('SIGTERM');

    const journal = readStore(storePathIn(dir), dir, (store) =>
      store.journal({ kind: 'alarm', history: true }).map(({ body }) => {
        const event = body as { alarm: string; occurrence: number; state: string; timeMs: number };
        return eventKey({ ...event, time: new Date(event.timeMs).toISOString() });
      }),
    );
    await timeUntil('the phone has heard all', () => missingOf(journal, phone.eventKeys()).length === 0, 10_000).catch(
      () => {},
    );
    const heard = phone.eventKeys();
    return [
      {
        ...{ of: 'alarm events as notices, by key', caused: 1, stake: journal.length },
        lost: missingOf(journal, heard).length,
        doubled: doubledIn(journal) + missingOf(heard, journal).length,
        recoveryMs: [probesBackMs, noticesOutMs],
        remark:
          `away for ${awaySeconds.toFixed(0)} s by the wall clock; ${waiting} messages waited, more than the ${noticesOfAnHour} of an hour at one a minute; ` +
          `${doubledIn(heard)} came twice and were known by their key; ${phone.lines().length} lines to the phone`,
      },
      answers,
    ];
  },
};
