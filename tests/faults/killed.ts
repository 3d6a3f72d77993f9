import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { type HubProcess, roomText, startHubProcess } from '../servers/hub-process.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { waitUntil } from '../servers/server-process.ts';
import { startPtyPair } from '../servers/socat.ts';
import type { Fault } from './fault.ts';
import { watchHealth } from './health-watch.ts';
import { ask, atPace, eventKey, startKeeper, startPhone, startProbeLine, timeUntil } from './people.ts';
import { startSerialProbe, watchReadLines } from './serial-lines.ts';
import { damageOf, doubledIn, missingOf, readStore } from './stored.ts';

const readingsPerSecond = 200;
const linesPerSecond = 50;
/** As long as unless set, so that nearly all kills come amid what was never flushed. */
const flushSeconds = 10;
const mostPauseMs = 2_000;

const onTheCable = 'cable';
const toggled = Array.from({ length: 20 }, (_, index) => `f${index}`);

/** The same moments in every run. */
function pauses(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return (state / 2 ** 32) * mostPauseMs;
  };
}

type Health = {
  edges: { name: string; up: boolean }[];
  readings: { accepted: number };
  outbox: Record<string, { waiting: number }>;
};

export const killed: Fault = {
  name: 'killed',
  title: `the process killed at any moment (SIGKILL), ${readingsPerSecond} readings/s by MQTT QoS 1, ${linesPerSecond} serial lines/s, entries, alarms`,
  amount: { of: 'kills', short: 5, long: 100 },
  needs: ['mosquitto', 'socat'],
  async run(scene, kills) {
    const dir = scene.folder();
    const storePath = join(dir, 'data', 'brinekeep.db');
    const broker = await startMosquitto({
      // It lives on, and writing all that waits to disk at each change would slow it down.
      config: 'max_queued_messages 100000\nautosave_on_changes false\nautosave_interval 1800',
    });
    scene.atEnd(broker.stop);
    const cable = await startPtyPair();
    scene.atEnd(cable.stop);
    // As systemd gives it: it outlives the process.
    const runtimeFolder = join(dir, 'run');
    mkdirSync(runtimeFolder);
    const start = () => startHubProcess(dir, text, { RUNTIME_DIRECTORY: runtimeFolder });
    const text = roomText(dir, {
      flush_seconds: flushSeconds,
      serial: [{ id: 'bench', path: cable.a, baud: 115_200, format: 'senml' }],
      mqtt: { url: `mqtt://127.0.0.1:${broker.port}` },
      notices: { most_per_hour: 1000, group_seconds: { high: 0, medium: 0, low: 0 } },
      systems: ['display', onTheCable, ...toggled].map((id) => {
        const tested = id === 'display' ? { alkalinity: { low: 7.5, high: 9 } } : {};
        return { id, name: `Tank ${id}`, volume_l: 400, bands: { temperature: { low: 25, high: 26.5 }, ...tested } };
      }),
      probes: [
        {
          ...{ id: onTheCable, system: onTheCable, metric: 'temperature', every_seconds: 1 },
          serial: { port: 'bench', channel: 'v' },
        },
        {
          ...{ id: 't', system: 'display', metric: 'temperature' },
          mqtt: { topic: 'tank/t', format: 'json', channel: 'water.t', time_path: 'at' },
        },
        ...toggled.map((id) => ({
          ...{ id, system: id, metric: 'temperature' },
          // Without a time of their own those that wait while the hub is dead would be left out, and few alarms be at stake.
          mqtt: { topic: `tank/${id}`, format: 'json', channel: 't', time_path: 'at' },
        })),
      ],
      rules: [
        { rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0.005, off_delay_minutes: 0.005, deadband: 0 },
        ...['rate', 'flat_line', 'swing'].map((rule) => ({ rule, enabled: false })),
      ],
    });

    let hub: HubProcess | undefined = await start();
    scene.atEnd(() => hub?.end('SIGKILL'));
    const phone = await startPhone(scene, broker.port);
    const watch = watchHealth(scene, () => hub?.url, phone);
    const line = await startProbeLine(scene, broker.port);
    const first: HubProcess = hub;
    // Before its first subscription the broker keeps nothing for it.
    await waitUntil('the hub hears the broker', async () =>
      (await ask<Health>(`${first.url}/health`)).edges.some(({ name, up }) => name === 'mqtt' && up),
    );
    const sent = new Map<number, number>();
    const probe = atPace(scene, readingsPerSecond, (n) => {
      let at = Date.now();
      while (sent.has(at)) at += 1;
      const t = Number((25.2 + (n % 500) / 1000).toFixed(3));
      sent.set(at, t);
      line.publish('tank/t', JSON.stringify({ at, water: { t } }), { qos: 1 });
    });
    // One after the other leaves its band for a second and comes back; the third time it counts as coming and going, and only the tests
    // out of their band still make news.
    const toggling = atPace(scene, 10, (n) => {
      const id = toggled[Math.floor(n / 20) % toggled.length];
      line.publish(`tank/${id}`, JSON.stringify({ at: Date.now(), t: n % 20 < 10 ? 26.7 : 26.3 }), { qos: 1 });
    });
    const serial = startSerialProbe(scene, cable.b, linesPerSecond);
    const readLines = watchReadLines(scene, () => hub, onTheCable);
    const keeper = startKeeper(scene, () => hub?.url);
    const accepted = async (at: HubProcess) => (await ask<Health>(`${at.url}/health`)).readings.accepted;
    /** Of a hub that has just been started: on a machine that does much else it may let the first question wait for long. */
    const hasAccepted = (at: HubProcess) =>
      accepted(at).then(
        (count) => count > 0,
        () => !at.isRunning() && Promise.reject(new Error(`the hub ended by itself: ${at.log().slice(-500)}`)),
      );

    const pause = pauses(20260105);
    const recoveryMs: number[] = [];
    const broken: string[] = [];
    let caused = 0;
    for (let kill = 0; kill < kills; kill += 1) {
      // Every second kill comes after news of an alarm: a slow machine might else be killed five times with none at stake.
      if (kill % 2 === 1) await phone.hearsMore();
      const dying: HubProcess = hub;
      // It finds its port some seconds after its start.
      await waitUntil('serial lines are read', () => readLines.hasRead(dying), { withinMs: 60_000 });
      await new Promise((resolve) => setTimeout(resolve, pause()));
      hub = undefined;
      await dying.end('SIGKILL');
      if (dying.child.signalCode === 'SIGKILL') caused += 1;
      else broken.push(`the hub had ended by itself: ${dying.log().slice(-500)}`);
      for (const damage of await damageOf(storePath, dir)) broken.push(`after kill ${kill + 1}: ${damage}`);
      const startMs = performance.now();
      const next: HubProcess = await start();
      hub = next;
      await waitUntil('readings flow again', () => hasAccepted(next), { explain: next.log, withinMs: 60_000 });
      recoveryMs.push(performance.now() - startMs);
    }
    await keeper.stop();
    probe.stop();
    toggling.stop();
    serial.stop();
    const last: HubProcess = hub;
    await waitUntil(
      'all that waited is taken, and all notices are handed to the broker',
      async () => {
        const before = await accepted(last);
        await new Promise((resolve) => setTimeout(resolve, 2_000));
        const { readings, outbox } = await ask<Health>(`${last.url}/health`);
        return readings.accepted === before && outbox.mqtt?.waiting === 0;
      },
      { withinMs: 120_000 },
    );
    const answers = await watch.row('killed');
    await readLines.stop();
    await last.end('SIGTERM');

    const found = readStore(storePath, dir, (store) => ({
      entries: [...store.journal({ kind: 'test' }), ...store.journal({ kind: 'dose' })].map(({ key }) => key ?? ''),
      alarms: store.journal({ kind: 'alarm', history: true }).map(({ body }) => {
        const { alarm, occurrence, state, timeMs } = body as {
          alarm: string;
          occurrence: number;
          state: string;
          timeMs: number;
        };
        return {
          key: eventKey({ alarm, occurrence, state, time: new Date(timeMs).toISOString() }),
          alarm,
          occurrence,
          state,
        };
      }),
      readings: store.readings({ system: 'display', metric: 'temperature', probe: 't' }, 0, Number.MAX_SAFE_INTEGER),
      lines: store.readings(
        { system: onTheCable, metric: 'temperature', probe: onTheCable },
        0,
        Number.MAX_SAFE_INTEGER,
      ),
    }));
    await timeUntil(
      'the phone has heard all',
      () =>
        missingOf(
          found.alarms.map(({ key }) => key),
          phone.eventKeys(),
        ).length === 0,
      5_000,
    ).catch(() => {});
    const heard = phone.eventKeys();
    const journal = found.alarms.map(({ key }) => key);
    const storedAt = found.readings.map(({ timeMs }) => String(timeMs));
    const lostReadings = missingOf([...sent.keys()].map(String), storedAt).length;
    const strangers = missingOf(storedAt, [...sent.keys()].map(String)).length;
    const linesAt = found.lines.map(({ timeMs }) => String(timeMs));
    const read = readLines.among(serial.sentMs).map(String);
    const raised = new Set(
      found.alarms.filter(({ state }) => state === 'raised').map(({ alarm, occurrence }) => `${alarm}#${occurrence}`),
    );
    return [
      {
        ...{ of: 'tests and doses answered 201', caused, stake: keeper.confirmed.size },
        lost: missingOf(keeper.confirmed, found.entries).length,
        doubled: doubledIn(found.entries),
        ...{ recoveryMs, broken },
      },
      {
        ...{ of: 'alarm events in the journal', caused, stake: new Set([...journal, ...heard]).size },
        // An event that somebody was told of and that is not in the record is lost to the record.
        lost: missingOf(heard, journal).length,
        doubled:
          found.alarms.length -
          new Set(found.alarms.map(({ alarm, occurrence, state }) => `${alarm}#${occurrence}#${state}`)).size,
        recoveryMs: [],
      },
      {
        ...{ of: 'notices of them, by key', caused, stake: journal.length },
        lost: missingOf(journal, heard).length,
        // A repeat carries the key of the first, so whoever receives it knows it.
        doubled: 0,
        recoveryMs: [],
        remark: `${doubledIn(heard)} came twice and were known by their key (the promise is at least once); ${phone.lines().length} lines to the phone for ${raised.size} alarms`,
      },
      {
        ...{ of: 'readings acknowledged at QoS 1', caused, stake: sent.size, lost: lostReadings },
        doubled: doubledIn(storedAt) + strangers,
        recoveryMs: [],
        remark: `flush_seconds ${flushSeconds}: ${storedAt.length} of ${sent.size} stored; missing are numbers ${missingOf(
          [...sent.keys()].map(String),
          storedAt,
        )
          .map((at) => [...sent.keys()].indexOf(Number(at)))
          .slice(0, 20)
          .join(', ')}`,
      },
      {
        ...{ of: 'serial lines that were read', caused, stake: read.length, lost: missingOf(read, linesAt).length },
        doubled: doubledIn(linesAt) + missingOf(linesAt, serial.sentMs.map(String)).length,
        recoveryMs: [],
        remark: `${serial.sentMs.length} were sent, some of them to a hub that was dead; read are those up to what it last showed before each kill`,
      },
      answers,
    ];
  },
};
