import { join } from 'node:path';
import type { HubAdapters } from '#adapters/ports/hub-adapters.ts';
import type { Observation, ObservationSink } from '#adapters/ports/observation.ts';
import { hubAdaptersOn } from '#hub/compose.ts';
import type { Hub } from '#hub/room/hub.ts';
import { createManualClock, type ManualClock } from '../adapters/clock/manual-clock.ts';
import { configOf, type RoomBlocks, roomText, startHubHere } from '../servers/hub-process.ts';
import type { Scene } from './scene.ts';

export const promptNotices = { most_per_hour: 1000, group_seconds: { high: 0, medium: 0, low: 0 } };

/** An alarm as soon as a reading leaves the band, its end as soon as one is back, and no other rule that speaks. */
export const promptRules: RoomBlocks = {
  notices: promptNotices,
  rules: [
    { rule: 'out_of_band', metric: 'temperature', on_delay_minutes: 0, off_delay_minutes: 0, deadband: 0 },
    ...['rate', 'flat_line', 'swing'].map((rule) => ({ rule, enabled: false })),
  ],
};

export const storePathIn = (dir: string) => join(dir, 'data', 'brinekeep.db');

/** The real hub with its real adapters in this process. */
export async function startRoom(
  scene: Scene,
  dir: string,
  blocks: RoomBlocks,
  changed: Partial<HubAdapters> = {},
): Promise<Hub> {
  const hub = await startHubHere(configOf(roomText(dir, blocks)), changed);
  let isRunning = true;
  const stop = async () => {
    if (!isRunning) return;
    isRunning = false;
    await hub.stop();
  };
  scene.atEnd(stop);
  return { ...hub, stop };
}

/** A hub on a clock that moves when it is told, and readings put in where the link to the broker would put them. */
export type TimedRoom = { hub: Hub; clock: ManualClock; say(channel: string, value: number, statedMs?: number): void };

/** Probes of such a room have the topic `tank/<id>`. */
export async function startTimedRoom(
  scene: Scene,
  dir: string,
  startMs: number,
  blocks: RoomBlocks,
): Promise<TimedRoom> {
  const clock = createManualClock(startMs);
  const adapters = hubAdaptersOn(clock);
  let sink: ObservationSink | undefined;
  const hub = await startRoom(scene, dir, blocks, {
    ...adapters,
    createLink(choice, subscriptions, given, ...rest) {
      sink = given;
      return adapters.createLink(choice, subscriptions, given, ...rest);
    },
  });
  return {
    hub,
    clock,
    say(probe, value, statedMs) {
      const observation: Observation = {
        ...{ source: `mqtt:tank/${probe}`, channel: '', value, receivedMs: adapters.clock.nowMs() },
        ...(statedMs === undefined ? {} : { statedMs }),
      };
      void sink?.accept([observation]);
    },
  };
}
