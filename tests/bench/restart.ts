import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { atMost, type BenchPart, type Measurement } from '#hub/bench/measurement.ts';
import { roomAtWork } from '#hub/bench/room-at-work.ts';
import { everyMs, roomBlocks, roomConfig, roundOf, simulatedProbes } from '#hub/bench/simulated-room.ts';
import { startMosquitto } from '../servers/mosquitto.ts';
import { type RunningHub, startHubOf, until200 } from './child.ts';
import { senmlOf } from './flood.ts';
import { publishAtOnce } from './publish-at-once.ts';
import { ascending, quantile } from './quantile.ts';
import { inScratch, missing, writeConfig } from './scratch.ts';

const name = 'from the start of the process to the room, after a kill';
const probes = simulatedProbes(100);

/** The record of a room with a hundred probes, of so many hours up to now. */
async function fill(path: string, hours: number): Promise<void> {
  const startMs = Date.now() - hours * 3_600_000;
  let nowMs = startMs;
  const clock = { nowMs: () => nowMs, monotonicMs: () => nowMs };
  const store = openStore({ path, flushMs: 3_600_000, clock });
  const room = roomAtWork(roomConfig(probes), store, nowMs);
  for (let round = 0; nowMs < startMs + hours * 3_600_000 - everyMs; round += 1) {
    const observations = roundOf(probes, nowMs);
    nowMs += everyMs;
    room.accept(observations, nowMs);
    if (round % 6 === 0) room.everyMinute(nowMs);
    store.flush();
  }
  room.stop();
  store.close();
}

/** So many readings in the room, a second of each probe apart: what waits for a flush and in the log when the hub is killed. */
function* lively(count: number) {
  const nowMs = Date.now();
  for (let n = 0; n < count; n += 1) {
    const probe = probes[n % probes.length]!;
    const timeMs = nowMs + Math.floor(n / probes.length);
    yield { topic: probe.topic, payload: senmlOf({ timeMs, value: probe.valueAt(timeMs) }) };
  }
}

async function started(configPath: string): Promise<{ hub: RunningHub; tookMs: number }> {
  const hub = await startHubOf(configPath);
  await until200(`${hub.url.replace(/\/$/, '')}/api/room`);
  return { hub, tookMs: performance.now() - hub.startedAtMs };
}

/** In turns, so that both meet the same machine. */
async function measure(isQuick: boolean): Promise<Measurement[]> {
  const [hours, rounds, readings] = isQuick ? [0.2, 1, 100] : [24, 5, 5000];
  const broker = await startMosquitto({ config: 'persistence false' });
  try {
    return await inScratch(async (dir) => {
      mkdirSync(join(dir, 'data'));
      await fill(join(dir, 'data', 'brinekeep.db'), hours);
      const mqtt = { url: `mqtt://127.0.0.1:${broker.port}` };
      const configPath = writeConfig(dir, { ...roomBlocks(probes, 'senml'), mqtt });
      const [clean, killed]: [number[], number[]] = [[], []];
      // The first start after another program wrote the record makes what is kept from then on.
      await (await started(configPath)).hub.stop();
      for (let round = 0; round < rounds; round += 1) {
        const { hub, tookMs } = await started(configPath);
        clean.push(tookMs);
        await publishAtOnce(broker.port, lively(readings));
        await new Promise((resolve) => setTimeout(resolve, isQuick ? 100 : 3000));
        await hub.kill();
        const again = await started(configPath);
        killed.push(again.tookMs);
        await again.hub.stop();
      }
      const [cleanMs, killedMs] = [clean, killed].map((took) => quantile(ascending(took), 0.5)) as [number, number];
      const ratio = killedMs / cleanMs;
      return [
        {
          ...{ name, figure: killedMs, unit: 'ms', ratio, beside: 'a start after a stop' },
          aim: atMost(ratio, 1.2, 'of it'),
          remark: `half of ${rounds} each, in turns; ${hours} h of ${probes.length} probes`,
        },
        { name: 'the same after a stop', figure: cleanMs, unit: 'ms' },
      ];
    });
  } finally {
    await broker.stop();
  }
}

export const restartPart: BenchPart = {
  name: 'restart',
  async measure(isQuick) {
    const why = missing('mosquitto');
    return why === undefined ? measure(isQuick) : [{ name, notMeasured: why }];
  },
};
