import { closeSync, fdatasyncSync, openSync, writeSync } from 'node:fs';
import type { Socket } from 'node:net';
import { join } from 'node:path';
import { connectAsync } from 'mqtt';
import { ascending, atMost, type BenchPart, type Measurement, quantile } from '#hub/bench/measurement.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { waitUntil } from '../servers/server-process.ts';
import { startHubOf } from './child.ts';
import { inScratch, missing, writeConfig } from './scratch.ts';

const name = 'from a publish to its notice, 200 tanks, 200 readings/s';
/** Each with a temperature probe that speaks once a second. */
const tankCount = 200;
const everyMs = 1000 / tankCount;
/** So many leave their band in a second. */
const leavingEachS = 4;

const band = { low: 25, high: 26.5 };
const quiet = { from: '00:00', to: '00:00' };
const settings = {
  site: { name: 'Invented room' },
  clock: { trust: 'always' },
  // What is measured is the way beyond the delays: there are none.
  rules: [{ rule: 'out_of_band', on_delay_minutes: 0, off_delay_minutes: 0 }],
  notices: {
    quiet_hours: { medium: quiet, low: quiet },
    most_per_hour: 1000,
    group_seconds: { high: 0, medium: 0, low: 0 },
  },
};

const topicOf = (tank: number) => `probes/t${tank}`;

function configOf(brokerPort: number): Record<string, unknown> {
  const tanks = Array.from({ length: tankCount }, (_, tank) => tank);
  return {
    ...settings,
    mqtt: { url: `mqtt://127.0.0.1:${brokerPort}` },
    systems: tanks.map((tank) => ({
      ...{ id: `s${tank}`, name: `Tank <${tank}>`, volume_l: 400, bands: { temperature: band } },
    })),
    probes: tanks.map((tank) => ({
      ...{
        id: `t${tank}`,
        system: `s${tank}`,
        metric: 'temperature',
        every_seconds: 1,
        mqtt: { topic: topicOf(tank) },
      },
    })),
  };
}

/**
 * Each tank in turn leaves its band for good, amid the readings of all others.
 *
 * @returns milliseconds from the publish to the line for the phone, for each tank; both by this process
 */
async function latencies(brokerPort: number, tanks: number): Promise<number[]> {
  const client = await connectAsync(`mqtt://127.0.0.1:${brokerPort}`);
  // As the firmware of probes does: a reading must not wait here for the answer to the one before it.
  (client.stream as Socket).setNoDelay(true);
  const publishedMs = new Map<number, number>();
  const tookMs = new Map<number, number>();
  client.on('message', (_topic, payload) => {
    const nowMs = performance.now();
    const tank = Number(/Tank <(\d+)>/.exec(payload.toString('utf8'))?.[1]);
    const sentMs = publishedMs.get(tank);
    if (sentMs !== undefined && !tookMs.has(tank)) tookMs.set(tank, nowMs - sentMs);
  });
  await client.subscribeAsync('brinekeep/phone', { qos: 1 });
  const startedMs = performance.now();
  const settleS = 3;
  const lasts = (settleS + tanks / leavingEachS + 1) * tankCount;
  for (let n = 0; n < lasts; n += 1) {
    const tank = n % tankCount;
    const isOut = tank < tanks && tank < (n / tankCount - settleS) * leavingEachS;
    await untilMs(startedMs + n * everyMs);
    if (isOut && !publishedMs.has(tank)) publishedMs.set(tank, performance.now());
    // A tenth of a degree inside or outside, with a ripple: no jump that the quality tests would doubt.
    const beyond = 0.1 + (n % 7) / 100;
    client.publish(topicOf(tank), (band.high + (isOut ? beyond : -beyond)).toFixed(2), { qos: 1 });
  }
  await waitUntil('the last notice', () => tookMs.size === publishedMs.size, { withinMs: 10_000 }).catch(() => {});
  await client.endAsync();
  if (tookMs.size < publishedMs.size) throw new Error(`${tookMs.size} of ${publishedMs.size} notices came`);
  return [...tookMs.values()];
}

async function untilMs(timeMs: number): Promise<void> {
  const leftMs = timeMs - performance.now();
  if (leftMs > 0) await new Promise((resolve) => setTimeout(resolve, leftMs));
}

/** What an alarm waits for at least: the disk's own answer to a short write, milliseconds each, spread like the alarms. */
async function syncedWrites(dir: string, count: number): Promise<number[]> {
  const file = openSync(join(dir, 'synced'), 'w');
  const page = Buffer.alloc(4096);
  const took: number[] = [];
  for (let n = 0; n < count; n += 1) {
    writeSync(file, page);
    const startedMs = performance.now();
    fdatasyncSync(file);
    took.push(performance.now() - startedMs);
    await new Promise((resolve) => setTimeout(resolve, 1000 / leavingEachS / 10));
  }
  closeSync(file);
  return took;
}

type Round = { took: number[]; synced: number[] };

async function round(tanks: number): Promise<Round> {
  const broker = await startMosquitto({ config: 'persistence false' });
  try {
    return await inScratch(async (dir) => {
      const hub = await startHubOf(writeConfig(dir, configOf(broker.port)));
      try {
        return { took: await latencies(broker.port, tanks), synced: await syncedWrites(dir, tanks) };
      } finally {
        await hub.stop();
      }
    });
  } finally {
    await broker.stop();
  }
}

/** Of two hundred alarms the hundredth part is two: a few rounds, each with a hub of its own, make a figure of it. */
async function measure(isQuick: boolean): Promise<Measurement[]> {
  const rounds: Round[] = [];
  for (let n = 0; n < (isQuick ? 1 : 3); n += 1) rounds.push(await round(isQuick ? 4 : tankCount));
  const took = ascending(rounds.flatMap((each) => each.took));
  const [p50, p99] = [quantile(took, 0.5), quantile(took, 0.99)];
  const synced = quantile(ascending(rounds.flatMap((each) => each.synced)), 0.99);
  const ofEach = rounds.map((each) => quantile(ascending(each.took), 0.99).toFixed(0)).join(', ');
  const remark = `${took.length} alarms, twice through Mosquitto and once to the disk`;
  return [
    { name: `${name}: half of them`, figure: p50, unit: 'ms', remark },
    {
      name: `${name}: 99 of 100`,
      ...{ figure: p99, unit: 'ms', aim: atMost(p99, 20, 'ms'), remark: `of each round ${ofEach}` },
    },
    { name: 'a synced write of 4 kB to the same disk, alone: 99 of 100', figure: synced, unit: 'ms' },
  ];
}

export const latencyPart: BenchPart = {
  name: 'latency',
  async measure(isQuick) {
    const why = missing('mosquitto');
    return why === undefined ? measure(isQuick) : [{ name, notMeasured: why }];
  },
};
