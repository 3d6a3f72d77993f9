import { closeSync, fdatasyncSync, openSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { atMost, type BenchPart, type Measurement } from '#hub/bench/measurement.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { startHubOf } from './child.ts';
import { configOf, excursions, tankCount } from './excursions.ts';
import { ascending, quantile } from './quantile.ts';
import { inScratch, missing, writeConfig } from './scratch.ts';

const name = 'from a publish to its notice, 200 tanks, 200 readings/s';
/** So many leave their band in a second. */
const leavingEachS = 4;

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
        const run = { tanks, leavingEachS, settleS: 3, noticeTopics: { hub: 'brinekeep/phone' } };
        const { tookMs } = await excursions(broker.port, run);
        return { took: tookMs['hub']!, synced: await syncedWrites(dir, tanks) };
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
