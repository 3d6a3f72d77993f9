import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { hubAdaptersOn } from '#hub/compose.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { Metric } from '#rules/quantity/metric.ts';
import { createManualClock, type ManualClock } from '../../../adapters/clock/manual-clock.ts';
import { freePort } from '../../../servers/free-port.ts';
import { configOf, type RoomBlocks, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';
import { type VerbEnded, verbHere } from '../../cli/verb-here.ts';

export const minuteMs = 60_000;
export const hourMs = 60 * minuteMs;
export const dayMs = 24 * hourMs;

/** An invented room whose clock stands still until it is told, with a command line that finds it. */
export type ArrivalRoom = {
  hub: Hub;
  clock: ManualClock;
  dir: string;
  /** `brinekeep ARGS --config …` */
  verb(...args: string[]): Promise<VerbEnded>;
  /** The same with `--json`. @throws with the words of the verb when it fails */
  asked<Answer>(...args: string[]): Promise<Answer>;
  /** What a probe of the system measured in [fromMs, toMs), twice an hour. */
  measured(metric: Metric, value: number, fromMs: number, toMs: number, system?: string): void;
  restart(): Promise<void>;
  stop(): Promise<void>;
};

export async function startArrivalRoom(startMs: number, blocks: RoomBlocks = {}): Promise<ArrivalRoom> {
  const scratch = scratchRoom();
  const text = roomText(scratch.dir, {
    site: { name: 'Fish room (invented)', timezone: 'UTC' },
    http: { port: await freePort() },
    ...blocks,
  });
  const path = join(scratch.dir, 'room.yaml');
  writeFileSync(path, text);
  const clock = createManualClock(startMs);
  const start = () => startHubHere(configOf(text), hubAdaptersOn(clock));
  const room: ArrivalRoom = {
    ...{ hub: await start(), clock, dir: scratch.dir },
    verb: (...args) => verbHere([...args, '--config', path]),
    async asked<Answer>(...args: string[]) {
      const ended = await verbHere([...args, '--config', path, '--json']);
      if (ended.code !== 0) throw new Error(`${args.join(' ')}: ${ended.code} ${ended.err}`);
      return JSON.parse(ended.out) as Answer;
    },
    measured(metric, value, fromMs, toMs, system = 'display') {
      const series = { system, metric, probe: `${system}-${metric}` };
      for (let timeMs = fromMs; timeMs < toMs; timeMs += 30 * minuteMs)
        room.hub.store.add([{ series, timeMs, quality: { flag: 'pass', value } }]);
      room.hub.store.flush();
    },
    async restart() {
      await room.hub.stop();
      room.hub = await start();
    },
    async stop() {
      await room.hub.stop();
      scratch.remove();
    },
  };
  return room;
}
