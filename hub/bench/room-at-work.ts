import type { Notifier } from '#adapters/ports/notifier.ts';
import type { Observation } from '#adapters/ports/observation.ts';
import type { Store } from '#adapters/ports/store.ts';
import type { Command } from '#rules/bands/evidence.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { bindProbes } from '../flow/pipeline/bound-probe.ts';
import { createCarbonateStage } from '../flow/pipeline/derive-carbonate.ts';
import { createPipeline } from '../flow/pipeline/pipeline.ts';
import { createRoomWatch } from '../judgement/watch/room-watch.ts';
import type { Config } from '../model/config/schema.ts';
import { createPresence } from '../outside/away/presence.ts';

export type RoomAtWork = {
  accept(observations: readonly Observation[], nowMs: number): void;
  /** What the hub does every five seconds. */
  tick(nowMs: number): void;
  /** What the hub stores every minute: what rules and notices remember, and the trace of being alive. */
  everyMinute(nowMs: number): void;
  /** What a person does about an alarm. */
  command(command: Command, nowMs: number): void;
  standing(nowMs: number): StandingAlarm[];
  readings(): number;
  stop(): void;
};

/** What is to be told is stored for it, and waits. */
const nobodyThere: Notifier = {
  destination: 'mqtt',
  itemOf: (notice) => JSON.stringify(notice),
  placeOf: () => undefined,
  isUp: () => false,
  send: async () => ({ is: 'away', why: 'nobody is there' }),
  reconnect: () => {},
};

/**
 * Pipeline, rules, notices and store of the hub on a time that the caller leads, without the world outside.
 *
 * @param phone  who takes what is to be told, and hears that there is something
 */
export function roomAtWork(
  config: Config,
  store: Store,
  firstMs: number,
  phone: { notifier: Notifier; nudge(): void } = { notifier: nobodyThere, nudge: () => {} },
): RoomAtWork {
  let timeMs = firstMs;
  const now = () => timeMs;
  const watch = createRoomWatch({
    config,
    store,
    notifiers: [phone.notifier],
    now,
    log: {
      error: (about: unknown) => {
        throw new Error(`a fault of the hub: ${JSON.stringify(about)}`);
      },
    },
    isClockTrusted: () => true,
    runNotices: (work) => work(),
    soon: (work) => work(),
    nudge: phone.nudge,
    changed: () => {},
  });
  const presence = createPresence(store, { nowMs: now, monotonicMs: now }, () => {});
  const carbonate = createCarbonateStage(config, () => ({ alkalinity_dKH: 8, calcium_mg_L: 420 }));
  const pipeline = createPipeline(bindProbes(config), carbonate, {
    keep: (readings) => store.add(readings),
    watch: (readings, nowMs) => {
      for (const reading of readings) watch.offer({ is: 'reading', reading }, nowMs);
    },
    show: () => {},
  });
  return {
    accept(observations, nowMs) {
      timeMs = nowMs;
      pipeline.accept(observations, nowMs);
    },
    tick(nowMs) {
      timeMs = nowMs;
      watch.offer({ is: 'time' }, nowMs);
    },
    everyMinute(nowMs) {
      timeMs = nowMs;
      watch.keep(nowMs);
      presence.mark();
    },
    command(command, nowMs) {
      timeMs = nowMs;
      watch.offer({ is: 'command', command }, nowMs);
    },
    standing: watch.standing,
    readings: () => pipeline.counts.accepted,
    stop: watch.stop,
  };
}
