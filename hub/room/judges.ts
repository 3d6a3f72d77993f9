import type { Notifier } from '#adapters/ports/notifier.ts';
import { createDeliveries, type Deliveries } from '../judgement/notices/deliveries.ts';
import { type Ways, waysTo } from '../judgement/notices/notice-items.ts';
import { createRoomWatch, type RoomWatch } from '../judgement/watch/room-watch.ts';
import { createSettings, type SettingsMemory } from '../model/settings/settings.ts';
import type { Ground } from './ground.ts';
import { createPhoneAnswers, type PhoneAnswers } from './phone-answers.ts';
import type { RoomRecord } from './record.ts';

export type Judges = {
  settings: SettingsMemory;
  notifiers: readonly Notifier[];
  ways: Ways;
  deliveries: Deliveries;
  watch: RoomWatch;
  phone: PhoneAnswers;
  /** Whether an edge, or what works like one, is up. */
  report(name: string, isUp: boolean, detail: string): void;
};

/** The rules at work, and what goes from them to people. */
export function createJudges(room: Ground & { record: RoomRecord }): Judges {
  const { config, adapters, topics, edges, log, now, contained, news, live, record } = room;
  const { store, dating } = record;

  const probesBehind = (edge: string): string[] =>
    config.probes
      .filter((probe) => (edge === 'mqtt' ? probe.mqtt !== undefined : `serial:${probe.serial?.port}` === edge))
      .map((probe) => probe.id);
  const report: Judges['report'] = (name, isUp, detail) =>
    news.offer({ is: 'edge', name, isUp, detail, probes: probesBehind(name) });

  const settings = createSettings({
    config,
    store: record.forPeople,
    unreadable: () => log.warn('the settings of the page cannot be read; those of the file hold'),
  });
  const notifiers = adapters.createNotifiers({ topics, link: edges.link });
  const phone = createPhoneAnswers({ topics, link: edges.link, log });
  const deliveries = createDeliveries({
    store,
    notifiers,
    nowMs: now,
    report: (isUp, detail) => report('notices', isUp, detail),
  });
  const watch = createRoomWatch({
    store,
    notifiers,
    log,
    now,
    changed: () => live.changed(),
    config: settings.effective(),
    isClockTrusted: dating.isClockTrusted,
    runNotices: (work) => contained.run('notices', work),
    soon: setImmediate,
    nudge: () => deliveries.nudge(),
    unreadable: (name) => void setImmediate(() => contained.run('store', () => record.lostDocument(name))),
  });
  settings.onChange((effective) => contained.run('settings', () => watch.follow(effective)));
  contained.run('report', () => news.readBy((evidence) => watch.offer(evidence, now())));
  return { settings, notifiers, ways: waysTo(notifiers), deliveries, watch, phone, report };
}
