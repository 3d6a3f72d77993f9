import { existsSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { connectAsync } from 'mqtt';
import { atMost, type BenchPart, type Measurement } from '#hub/bench/measurement.ts';
import { roomBlocks, simulatedProbes } from '#hub/bench/simulated-room.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { onBoardDisk } from './board-disk.ts';
import { processorSeconds, residentMB, startChild, startHubOf, writtenBytes } from './child.ts';
import { inScratch, missing, writeConfig } from './scratch.ts';

type Memory = { atStart: number; now: number; most: number; series: number };

export const memoryPart: BenchPart = {
  name: 'memory',
  measure: (isQuick) =>
    inScratch(async (dir): Promise<Measurement[]> => {
      const metrics = 200;
      const hours = isQuick ? 0.05 : 24;
      const found = await startChild<Memory>('memory-child', { dir, metrics, hours }).result;
      return [
        {
          name: `memory of the hub at ${metrics} metrics after ${hours} simulated hours`,
          ...{ figure: found.now, unit: 'MB resident' },
          aim: atMost(found.now, 120, 'MB'),
          remark: `${found.atStart.toFixed(0)} MB at its start, ${found.most.toFixed(0)} at most, ${found.series} series`,
        },
      ];
    }),
};

/** As long as the log grows before it goes into the file; then it is written anew from its beginning. */
const usualLogBytes = 4_200_000;

/**
 * A hub writes into a log that once was longer, but for its first hours: while a log grows the file system writes tables of
 * its own as well, some 20 MB a day.
 */
async function lengthenLog(dir: string, configPath: string): Promise<void> {
  await (await startHubOf(configPath)).stop();
  const path = join(dir, 'brinekeep.db');
  // It kills itself, and so says nothing.
  const { ready, result } = startChild('long-log', { path, bytes: usualLogBytes });
  await Promise.allSettled([ready, result]);
  const { size } = statSync(`${path}-wal`);
  if (size < usualLogBytes) throw new Error(`the log has ${size} bytes, of ${usualLogBytes}`);
}

/** Which database the hub of this build has: a release's syncs data alone, what npm brings the journal as well. */
function storeBuild(): string {
  const name = `linux-${process.arch}.node`;
  const built = fileURLToPath(new URL(`../../prebuilds/${name}`, import.meta.url));
  const brought = fileURLToPath(import.meta.resolve(`better-sqlite3/package.json`)).replace(
    'package.json',
    `prebuilds/${name}`,
  );
  const isBrought = !existsSync(built) || readFileSync(built).equals(readFileSync(brought));
  return isBrought ? 'a database as npm brings it' : "a release's database";
}

const restName = 'processor time of the hub at 10 readings/s';

/** Ten probes once a second through Mosquitto, to a hub in a process of its own, for so long. */
async function measureRest(isQuick: boolean): Promise<Measurement[]> {
  const seconds = isQuick ? 2 : 120;
  // What a hub writes and computes once, in its first minute, is no rest.
  const settleS = isQuick ? 0 : 40;
  const broker = await startMosquitto({ config: 'persistence false' });
  try {
    return await onBoardDisk(async ({ dir, kind, deviceBytes }) => {
      const probes = simulatedProbes(10);
      const { probes: blocks, ...room } = roomBlocks(probes, 'number');
      const configPath = writeConfig(dir, {
        ...{ ...room, mqtt: { url: `mqtt://127.0.0.1:${broker.port}` } },
        probes: blocks.map((probe) => ({ ...probe, every_seconds: 1 })),
      });
      await lengthenLog(join(dir, 'data'), configPath);
      const hub = await startHubOf(configPath);
      const client = await connectAsync(`mqtt://127.0.0.1:${broker.port}`);
      let n = 0;
      const timer = setInterval(() => {
        const probe = probes[n % probes.length]!;
        n += 1;
        client.publish(probe.topic, String(probe.valueAt(Date.now())), { qos: 1 });
      }, 100);
      try {
        await new Promise((resolve) => setTimeout(resolve, settleS * 1000));
        const [cpuBefore, writtenBefore, countBefore] = [processorSeconds(hub.pid), writtenBytes(hub.pid), n];
        const deviceBefore = deviceBytes?.();
        const startedMs = performance.now();
        await new Promise((resolve) => setTimeout(resolve, seconds * 1000));
        const tookS = (performance.now() - startedMs) / 1000;
        const share = (100 * (processorSeconds(hub.pid) - cpuBefore)) / tookS;
        const perDay = (bytes: number) => (bytes / tookS) * 0.0864;
        const written = perDay(writtenBytes(hub.pid) - writtenBefore);
        const device =
          deviceBytes === undefined || deviceBefore === undefined ? [] : [perDay(deviceBytes() - deviceBefore)];
        const remark = `over ${tookS.toFixed(0)} s, ${((n - countBefore) / tookS).toFixed(1)} readings/s`;
        return [
          { name: restName, figure: share, unit: '% of a core', aim: atMost(share, 2, '%'), remark },
          {
            name: 'written by the whole hub in that time, for a day',
            ...{ figure: written, unit: 'MB a day', aim: atMost(written, 60, 'MB') },
            remark: `on ${kind}, without the hourly packing`,
          },
          ...device.map((figure) => ({
            ...{ name: 'the same as the device counts it', figure, unit: 'MB a day' },
            remark: `with the file system's own; ${storeBuild()}`,
          })),
          { name: 'its memory', figure: residentMB(hub.pid).now, unit: 'MB resident' },
        ];
      } finally {
        clearInterval(timer);
        await client.endAsync();
        await hub.stop();
      }
    });
  } finally {
    await broker.stop();
  }
}

export const restPart: BenchPart = {
  name: 'rest',
  async measure(isQuick) {
    const why = missing('mosquitto');
    return why === undefined ? measureRest(isQuick) : [{ name: restName, notMeasured: why }];
  },
};
