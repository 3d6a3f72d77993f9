import { createMqttNotifier } from '#adapters/notify/mqtt/mqtt-notifier.ts';
import type { Notifier } from '#adapters/ports/notifier.ts';
import type { Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { createEntries } from '#hub/flow/entries/enter.ts';
import { createDeliveries } from '#hub/judgement/notices/deliveries.ts';
import { createLinkMemory } from '#hub/judgement/notices/link-memory.ts';
import { createJudging } from '#hub/judgement/watch/judging.ts';
import { createRoomWatch } from '#hub/judgement/watch/room-watch.ts';
import type { Config } from '#hub/model/config/schema.ts';
import { topicsBelow } from '#hub/model/config/topics.ts';
import type { BrokerModel } from './broker-model.ts';

/** Between two steps from receipt to notice; it may throw, and the hub is then dead. */
export type Seam = (point: string) => void;

export class Killed extends Error {}

/** Faults that are put in on purpose, to see that they are found. */
export type Planted = 'never_catches_up' | 'refusal_blocks' | 'waits_for_ever' | 'never_says_again' | 'flood_unbounded';

export type SmallHubParts = {
  planted: Planted | undefined;
  config: Config;
  path: string;
  clock: { nowMs(): number; monotonicMs(): number };
  broker: BrokerModel;
  seam: Seam;
  after(ms: number, work: () => void): () => void;
};

/** From receipt to notice with the hub's own parts and the real store, on a time that the caller leads. */
export function startSmallHub({ planted, config, path, clock, broker, seam, after }: SmallHubParts) {
  const real = openStore({ path, flushMs: 3_600_000, clock });
  let isDead = false;
  const alive = <Result>(point: string, work: () => Result): Result => {
    if (isDead) throw new Killed();
    pass(`before ${point}`);
    const result = work();
    pass(`after ${point}`);
    return result;
  };
  function pass(point: string): void {
    try {
      seam(point);
    } catch (error) {
      isDead = true;
      throw error;
    }
  }
  const store: Store = {
    ...real,
    commit: (commit) => alive('commit', () => real.commit(commit)),
    acknowledge: (ids) => alive('acknowledge', () => real.acknowledge(ids)),
    park: (id, why) => alive('park', () => real.park(id, why)),
    unpark: (ids) => alive('unpark', () => real.unpark(ids)),
    keepSoon: (documents) => {
      if (!isDead) real.keepSoon(documents);
    },
  };
  const form = createMqttNotifier(topicsBelow('brinekeep'), () => undefined);
  const notifier: Notifier = {
    ...form,
    isUp: () => !isDead && broker.isUp(),
    async send(item) {
      const sent = await alive('send', () => broker.send(item));
      return planted === 'refusal_blocks' && sent.is !== 'acknowledged' ? { is: 'away', why: 'as before' } : sent;
    },
    reconnect: broker.reconnect,
  };
  const now = () => clock.nowMs();
  let soon: (() => void)[] = [];
  const contained = (work: () => void) => {
    try {
      work();
    } catch (error) {
      if (!isDead) throw error;
    }
  };
  const deliveries = createDeliveries({
    ...{ store, notifiers: [notifier], nowMs: now },
    report: () => {},
    times: {
      ...(planted === 'waits_for_ever' ? { answerWithinMs: Number.MAX_SAFE_INTEGER } : {}),
      after: (ms, work) => after(ms, () => !isDead && contained(work)),
    },
  });
  const watch = createRoomWatch({
    ...{ config, store, notifiers: [notifier], now, log: { error: () => {} } },
    isClockTrusted: () => true,
    runNotices: contained,
    soon: (work) => void soon.push(work),
    nudge: () => !isDead && deliveries.nudge(),
    changed: () => {},
  });
  /** What was on disk before the start is passed over, as by a hub that tells the rules what is entered and no more. */
  let isStarting = planted === 'never_catches_up';
  const judge: typeof watch.judge = (entered, nowMs) =>
    watch.judge(isStarting ? { ...entered, evidence: [] } : entered, nowMs);
  const judgingWatch = { judge, judgedOf: watch.judgedOf };
  const linkMemory = createLinkMemory(store, () => planted !== 'never_says_again' && watch.sayAgain(true));
  const judging = createJudging({ config, store, watch: judgingWatch, now, monotonicMs: clock.monotonicMs, contained });
  const entries = createEntries({
    ...{ config, store, question: () => undefined, isKnownSubstance: () => true },
    entered: (_kind, system) => judging.entered(system),
  });
  contained(() => judging.catchUp());
  isStarting = false;
  contained(() => watch.keep(now()));
  contained(() => linkMemory.leaves());
  return {
    ...{ watch, entries, real },
    isDead: () => isDead,
    causes: () => [...deliveries.causes(), ...(judging.behind().systems > 0 ? ['rules behind'] : [])],
    /** The end of a turn of the event loop. */
    endTurn(): void {
      for (const work of soon.splice(0)) contained(work);
    },
    linkIsDown: () => contained(() => linkMemory.leaves()),
    linkIsBack(hasForgotten: boolean): void {
      contained(() => watch.look(now()));
      contained(() => linkMemory.found(hasForgotten));
      deliveries.nudge();
    },
    /** What the hub does every five seconds, and each minute. */
    tick(isMinute: boolean): void {
      contained(() => judging.catchUp());
      contained(() => deliveries.look());
      contained(() => watch.offer({ is: 'time' }, now()));
      contained(() => watch.look(now()));
      if (isMinute) contained(() => watch.keep(now()));
      if (isMinute && !isDead) real.flush();
    },
    leave(): void {
      isDead = true;
      soon = [];
      watch.stop();
      real.close();
    },
  };
}

export type SmallHub = ReturnType<typeof startSmallHub>;
