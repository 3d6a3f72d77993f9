import { createDeclinedAdvice, type DeclinedAdvice } from '../judgement/estimate/declined-advice.ts';
import { createTitrator, type Titrator } from '../judgement/titration/titrator.ts';
import { type AlarmDesk, createAlarmDesk } from '../judgement/watch/alarm-desk.ts';
import { createConfigDesk } from '../model/settings/config-desk.ts';
import { createFleet, type Fleet } from '../outside/fleet/fleet.ts';
import { ownAddresses } from '../outside/phones/own-addresses.ts';
import { createPhoneDesk, type PhoneDesk } from '../outside/phones/phone-desk.ts';
import { createNowDesk, type NowDesk } from '../reports/now/now-desk.ts';
import { createWeekDesk, type WeekDesk } from '../reports/week/week-desk.ts';
import type { Entering } from './entering.ts';
import type { Ground } from './ground.ts';
import type { Judges } from './judges.ts';
import type { RoomRecord } from './record.ts';

export type Desks = {
  declined: DeclinedAdvice;
  todo: NowDesk;
  alarms: AlarmDesk;
  week: WeekDesk;
  fleet: Fleet;
  phones: PhoneDesk;
  titrator: Titrator;
};

/** What people ask, at the page or by phone. */
export function createDesks(room: Ground & { record: RoomRecord; judges: Judges; entering: Entering }): Desks {
  const { config, adapters, options, clock, contained, now, record, judges, entering } = room;
  const { store, forEntries } = record;
  const { watch, settings } = judges;
  const { reception, estimator, calibrations, entries } = entering;
  const { isInvented, secrets } = options;
  const units = () => settings.effective().display_units;

  const declined = createDeclinedAdvice(forEntries);
  const todo = createNowDesk({ config, store, reception, declined, watch, estimator, units });
  const alarms = createAlarmDesk({
    ...{ config, store, watch, now, textOf: watch.textOf, answer: judges.phone.answer },
    today: () => todo.told(now()),
  });
  const titrator = createTitrator({
    ...{ config, store: forEntries, calibrations, entries, estimate: estimator.estimate, command: alarms.command },
  });
  clock.onChange((change) => {
    // A listener must not store anything by itself.
    if (change.kind !== 'refused') setImmediate(() => contained.run('titrations', () => titrator.clockMoved(change)));
  });
  const week = createWeekDesk({ config, store, line: adapters.csvLine, units, isInvented, nowMs: now });
  const fleet = createFleet({ config, adapters, secrets, store });
  const { configFile: file } = options;
  const phones = createPhoneDesk({
    ...{ config, addresses: ownAddresses, nowMs: now },
    file: file === undefined ? undefined : createConfigDesk({ file, store: forEntries }),
    broker: room.edges.broker,
    reopen: room.edges.reopenBroker,
    publish: async (topic, line) => room.edges.link()?.publish(topic, line, { retain: false }),
  });
  return { declined, todo, alarms, week, fleet, phones, titrator };
}
