import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { postJson, type RoomBlocks, roomText, startHubProcess } from '../servers/hub-process.ts';
import { type Mosquitto, startMosquitto } from '../servers/mosquitto.ts';
import { packetTypes, startOddBroker } from '../servers/odd-broker.ts';
import { waitUntil } from '../servers/server-process.ts';
import type { Fault, Row } from './fault.ts';
import { type HealthWatch, watchHealth } from './health-watch.ts';
import { ask, type Phone, startPhone, timeUntil } from './people.ts';
import { promptNotices } from './rooms.ts';
import type { Scene } from './scene.ts';

const tanks = ['display', 'frag', 'sump', 'larvae'];
const backWithinMs = 120_000;

type Room = { url(): string; phone: Phone; watch: HealthWatch; stop(): Promise<void>; start(): Promise<void> };

/** A hub of some tanks on an outside broker, a phone there, and somebody who asks the hub how it is. */
async function roomAt(scene: Scene, broker: Mosquitto, port: number, mqtt: RoomBlocks = {}): Promise<Room> {
  const dir = scene.folder();
  const text = roomText(dir, {
    ...{ notices: promptNotices, backups: { enabled: false }, mqtt: { url: `mqtt://127.0.0.1:${port}`, ...mqtt } },
    systems: tanks.map((id) => ({
      id,
      name: `Tank ${id}`,
      volume_l: 400,
      bands: { alkalinity: { low: 7.5, high: 9 } },
    })),
  });
  const phone = await startPhone(scene, broker.port);
  let hub = await startHubProcess(dir, text);
  scene.atEnd(() => hub.end('SIGKILL'));
  const watch = watchHealth(scene, () => hub.url, phone);
  type Linked = { edges: { name: string; up: boolean }[] };
  const untilLinked = () =>
    waitUntil('the hub is linked', async () =>
      (await ask<Linked>(`${hub.url}/health`)).edges.some(({ name, up }) => name === 'mqtt' && up),
    );
  await untilLinked();
  return {
    ...{ phone, watch, url: () => hub.url },
    stop: () => hub.end('SIGTERM'),
    async start() {
      hub = await startHubProcess(dir, text);
      await untilLinked();
    },
  };
}

const lineOf = (tank: string) => new RegExp(`Tank ${tank}.*above the band|above the band.*Tank ${tank}`);

/** A test far above the band: an alarm at once. */
async function overdose({ url, watch }: Room, tank: string): Promise<void> {
  const body = { system: tank, analyte: 'alkalinity', value: 12, confirmed: true };
  watch.mustTell(`the line of Tank ${tank}`, lineOf(tank));
  const answer = await postJson(`${url()}/api/tests`, body);
  if (answer.status !== 201) throw new Error(`a test was answered ${answer.status}`);
}

const pause = (seconds: number) => new Promise((resolve) => setTimeout(resolve, seconds * 1000));

/** Until all that is due is heard. @returns what never was, and how long it took */
async function healed({ watch }: Room): Promise<{ lost: string[]; recoveryMs: number[] }> {
  const recoveryMs = await timeUntil('all is told', () => watch.untold().length === 0, backWithinMs).catch(
    () => undefined,
  );
  return { lost: watch.untold(), recoveryMs: recoveryMs === undefined ? [] : [recoveryMs] };
}

/** It takes everything, answers pings, and acknowledges nothing: what it takes goes nowhere. */
async function neverAcknowledges(scene: Scene, seconds: number): Promise<Row[]> {
  const broker = await startMosquitto();
  scene.atEnd(broker.stop);
  const odd = await startOddBroker(broker.port);
  scene.atEnd(odd.stop);
  const room = await roomAt(scene, broker, odd.port);
  await overdose(room, 'display');
  await healed(room);
  let swallowed = 0;
  odd.fromClient = ({ type }) => {
    if (type !== packetTypes.publish) return true;
    swallowed += 1;
    return false;
  };
  for (const tank of tanks.slice(1)) await overdose(room, tank);
  await pause(seconds);
  const early = room.watch.untold().length;
  odd.fromClient = () => true;
  const { lost, recoveryMs } = await healed(room);
  return [
    {
      ...{ of: 'alarms, no acknowledgement', caused: Math.min(1, swallowed), stake: tanks.length, lost: lost.length },
      ...{ doubled: 0, recoveryMs },
      broken: early > 0 ? [] : ['all was told before the fault was over'],
      remark: `${swallowed} messages were taken and not acknowledged, in ${seconds} s`,
    },
    await room.watch.row('no acknowledgement', 'something_is_late'),
  ];
}

/** An access rule forbids the state topics of one tank (MQTT 5: it says so, and stays linked). */
async function refusesOneTopic(scene: Scene, seconds: number): Promise<Row[]> {
  const acl = join(scene.folder(), 'acl');
  writeFileSync(acl, 'topic readwrite #\ntopic deny brinekeep/alarms/display/#\n');
  const broker = await startMosquitto({ config: `acl_file ${acl}` });
  scene.atEnd(broker.stop);
  const room = await roomAt(scene, broker, broker.port, { protocol: '5' });
  const isOfDisplay = ({ alarm }: { alarm: string }) => alarm.startsWith('display/');
  const others = tanks.slice(1);
  for (const tank of tanks) await overdose(room, tank);
  // Neither its own line nor anything of the others waits for what is refused.
  await timeUntil('all lines are told', () =>
    tanks.every((tank) => room.phone.lines().some((line) => lineOf(tank).test(line))),
  ).catch(() => {});
  const heldUp = tanks.filter((tank) => !room.phone.lines().some((line) => lineOf(tank).test(line)));
  await pause(seconds);
  const wasRefused = !room.phone.events().some(isOfDisplay);
  writeFileSync(acl, 'topic readwrite #\n');
  // What was refused is offered again each ten minutes and at each start.
  await room.stop();
  await broker.restart();
  await room.start();
  const { lost, recoveryMs } = await healed(room);
  return [
    {
      ...{ of: 'alarms, one topic refused', caused: wasRefused ? 1 : 0, stake: tanks.length + 1 },
      ...{ lost: lost.length + heldUp.length, doubled: 0, recoveryMs },
      broken: heldUp.length === 0 ? [] : [`held up by what was refused: ${heldUp.join(', ')}`],
      remark: `the lines of all and the states of ${others.length} tanks past the refused one; that one after the rule was lifted`,
    },
    await room.watch.row('one topic refused', 'something_is_late'),
  ];
}

/** It acknowledges, dies with what it holds for the phone, and comes back knowing nothing. */
async function forgets(scene: Scene, times: number): Promise<Row[]> {
  const broker = await startMosquitto({ config: 'persistence false' });
  scene.atEnd(broker.stop);
  const room = await roomAt(scene, broker, broker.port);
  const { url } = room;
  let caused = 0;
  const recoveryMs: number[] = [];
  for (const tank of tanks.slice(0, times)) {
    await room.phone.leave();
    const heard = room.phone.lines().length;
    await overdose(room, tank);
    type Outbox = { outbox: { mqtt: { waiting: number } } };
    await waitUntil('the broker has it', async () => (await ask<Outbox>(`${url()}/health`)).outbox.mqtt.waiting === 0);
    if (room.phone.lines().length === heard) caused += 1;
    await broker.kill();
    await broker.restart();
    await room.phone.comeBack();
    recoveryMs.push(...(await healed(room)).recoveryMs);
  }
  return [
    {
      ...{ of: 'alarms, acknowledged and forgotten', caused, stake: caused, lost: room.watch.untold().length },
      ...{ doubled: 0, recoveryMs },
      remark: 'the phone was away with a lasting session, of which the broker knew nothing afterwards',
    },
    await room.watch.row('acknowledged and forgotten'),
  ];
}

export const brokerUnwilling: Fault = {
  name: 'unwilling',
  title: 'an outside broker that never acknowledges, that refuses one topic, that acknowledges and forgets',
  amount: { of: 's each', short: 25, long: 600 },
  needs: ['mosquitto'],
  run: async (scene, seconds) =>
    (await Promise.all([neverAcknowledges(scene, seconds), refusesOneTopic(scene, seconds), forgets(scene, 2)])).flat(),
};
