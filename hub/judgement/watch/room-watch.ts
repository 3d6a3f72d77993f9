import type { FastifyBaseLogger } from 'fastify';
import type { Notifier } from '#adapters/ports/notifier.ts';
import type { Store } from '#adapters/ports/store.ts';
import { rulesForRoom } from '#rules/bands/room.ts';
import type { Config } from '../../model/config/schema.ts';
import { watchedRoomFromConfig } from '../../model/config/watched-room.ts';
import { sendNow } from '../notices/deliver.ts';
import { lineNotice, stateNotice, waysTo } from '../notices/notice-items.ts';
import { noticeSettings } from '../notices/notice-settings.ts';
import { alarmText, phoneLine } from '../notices/phone-line.ts';
import { statesAgain } from '../notices/states-again.ts';
import { createWake } from './wake.ts';
import { createWatch, type Watch } from './watch.ts';

export type RoomWatchParts = {
  config: Config;
  store: Pick<Store, 'commit' | 'keepSoon' | 'document' | 'journal'>;
  notifiers: readonly Notifier[];
  log: Pick<FastifyBaseLogger, 'error'>;
  now(): number;
  isClockTrusted(): boolean;
  /** Runs the notices when their time has come; a fault of theirs stays in there. */
  runNotices(work: () => void): void;
  /** Does the work after what has arrived by now. */
  soon(work: () => void): void;
  /** Something new is in the outbox. */
  nudge(): void;
  /** The page has something new to show. */
  changed(): void;
  /** At the start: what the rules remembered under this name cannot be used. */
  unreadable?(name: string): void;
};

export type RoomWatch = Watch & {
  /** What an alarm is about, for a phone. */
  textOf(alarm: AlarmWords): string;
  /**
   * The broker has lost what it held: how each alarm stands is said again, and `withLines` what was said to phones and acknowledged
   * by nobody.
   */
  sayAgain(withLines: boolean): void;
  /** Units and quiet hours of this configuration hold from now on. */
  follow(config: Config): void;
  stop(): void;
};

type AlarmWords = { system: string; message: string };

/** The rules and notices of this room, bound to its names, its topics, its link and its store. */
export function createRoomWatch(parts: RoomWatchParts): RoomWatch {
  const { config, notifiers, now } = parts;
  const ways = waysTo(notifiers);
  const systemNames = new Map(config.systems.map((system) => [system.id, system.name]));
  const nameOf = (system: string) => systemNames.get(system) ?? config.site.name;
  const textOf = ({ system, message }: AlarmWords) => alarmText(nameOf(system), message);
  const wake = createWake(now, () => parts.runNotices(() => watch.look(now())));
  const watch = createWatch(parts.store, rulesForRoom(watchedRoomFromConfig(config)), noticeSettings(config), {
    stateItems: (event) => ways(stateNotice(event, nameOf(event.system))),
    lineItems: ({ line, ...message }) =>
      ways(lineNotice({ ...message, line: parts.isClockTrusted() ? line : phoneLine(`Clock not set · ${line}`) })),
    textOf,
    canReach: () => notifiers.some((notifier) => notifier.isUp()),
    wakeAt: wake.at,
    unreadable: (name) => parts.unreadable?.(name),
    soon: (work) => parts.soon(() => parts.runNotices(work)),
    announced() {
      parts.nudge();
      parts.changed();
    },
    unstored(items, error, lost) {
      parts.log.error({ err: error }, 'an alarm could not be stored; it is sent from memory');
      sendNow(notifiers, items, lost);
      parts.changed();
    },
  });
  return {
    ...watch,
    textOf,
    sayAgain(withLines) {
      const outbox = statesAgain(parts.store, watch.standing(now()), nameOf).flatMap(ways);
      if (outbox.length > 0) parts.store.commit({ outbox });
      if (withLines) watch.owe(0, now());
      parts.nudge();
    },
    follow(changed) {
      watch.use(rulesForRoom(watchedRoomFromConfig(changed)), noticeSettings(changed), now());
      parts.changed();
    },
    stop: wake.stop,
  };
}
