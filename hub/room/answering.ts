import { createDeclinedAdvice, type DeclinedAdvice } from '../judgement/estimate/declined-advice.ts';
import { createLotWatch, type LotWatch } from '../judgement/kits/lot-watch.ts';
import { createTitrator, type Titrator } from '../judgement/titration/titrator.ts';
import { type AlarmCommands, createAlarmCommands } from '../judgement/watch/alarm-commands.ts';
import { createConfigChanges } from '../model/settings/config-changes.ts';
import { createFleet, type Fleet } from '../outside/fleet/fleet.ts';
import { ownAddresses } from '../outside/phones/own-addresses.ts';
import { createPhoneAccess, type PhoneAccess } from '../outside/phones/phone-access.ts';
import { createNowLists, type NowLists } from '../reports/now/now-lists.ts';
import { createWeekReviews, type WeekReviews } from '../reports/week/week-reviews.ts';
import type { Entering } from './entering.ts';
import type { Ground } from './ground.ts';
import type { Judges } from './judges.ts';
import type { RoomRecord } from './record.ts';

export type Answering = {
  declined: DeclinedAdvice;
  lots: LotWatch;
  todo: NowLists;
  alarms: AlarmCommands;
  week: WeekReviews;
  fleet: Fleet;
  phones: PhoneAccess;
  titrator: Titrator;
};

/** What people ask, at the page or by phone. */
export function createAnswering(room: Ground & { record: RoomRecord; judges: Judges; entering: Entering }): Answering {
  const { config, adapters, options, clock, contained, now, record, judges, entering } = room;
  const { store, forEntries } = record;
  const { watch, settings } = judges;
  const { livestock, estimator, calibrations, entries, kits } = entering;
  const { isInvented, secrets } = options;
  const units = () => settings.effective().display_units;

  const declined = createDeclinedAdvice(forEntries);
  const lots = createLotWatch({ config, store, kits, ways: judges.ways, nudge: judges.deliveries.nudge });
  const todo = createNowLists({ config, store, livestock, declined, watch, lots, estimator, units });
  const alarms = createAlarmCommands({
    config,
    store,
    watch,
    now,
    textOf: watch.textOf,
    answer: judges.phone.answer,
    today: () => todo.phoneText(now()),
  });
  const titrator = createTitrator({
    config,
    store: forEntries,
    calibrations,
    entries,
    estimate: estimator.estimate,
    command: alarms.command,
  });
  clock.onChange((change) => {
    // A listener must not store anything by itself.
    if (change.kind !== 'refused') setImmediate(() => contained.run('titrations', () => titrator.clockMoved(change)));
  });
  const week = createWeekReviews({ config, store, line: adapters.csvLine, units, isInvented, nowMs: now });
  const fleet = createFleet({ config, adapters, secrets, store });
  const { configFile: file } = options;
  const phones = createPhoneAccess({
    config,
    addresses: ownAddresses,
    nowMs: now,
    file: file === undefined ? undefined : createConfigChanges({ file, store: forEntries }),
    broker: room.edges.broker,
    reopen: room.edges.reopenBroker,
    publish: async (topic, line) => room.edges.link()?.publish(topic, line, { retain: false }),
  });
  return { declined, lots, todo, alarms, week, fleet, phones, titrator };
}
