import type { Store } from '#adapters/ports/store.ts';
import type { Ways } from '../../judgement/notices/notice-items.ts';
import { localDate, localMinuteOf } from '../../model/calendar/local-day.ts';
import type { Config } from '../../model/config/schema.ts';
import type { NowLists } from './now-lists.ts';

/** The document of the store that names the day whose list is on its way to the phone. */
const lastToldDocument = 'last_day_told';
/** Once the hub was off at the hour, it is said up to so much later; after that the day is half over. */
const lateMostMinutes = 180;

export type TodayNotice = { tick(nowMs: number): void };

export type TodayParts = {
  config: Config;
  store: Pick<Store, 'document' | 'commit'>;
  ways: Ways;
  todo: Pick<NowLists, 'phoneText'>;
  /** Something is in the outbox. */
  nudge(): void;
};

/**
 * The list of the day for the phone, once, at the hour that the keeper chose.
 *
 * Is: one message for a day, over any restart, with the delivery of the outbox behind it; also on a day with nothing to do.
 * Is not: counted against the hour's budget of notices, which alarms need; said on a day on which the hub was off at the hour
 * and for three hours after it.
 */
export function createTodayNotice({ config, store, ways, todo, nudge }: TodayParts): TodayNotice {
  const { today_at } = config.notices;
  const { timezone } = config.site;
  let toldOn = store.document(lastToldDocument);
  if (today_at === undefined) return { tick() {} };
  const dueMinute = Number(today_at.slice(0, 2)) * 60 + Number(today_at.slice(3));
  let lastMinute = Number.NaN;
  return {
    tick(nowMs) {
      // Wall-clock dates are dear, and the list is not in a hurry.
      const minute = Math.floor(nowMs / 60_000);
      if (minute === lastMinute) return;
      lastMinute = minute;
      const today = localDate(nowMs, timezone);
      if (toldOn === today) return;
      const late = localMinuteOf(nowMs, timezone) - dueMinute;
      if (late < 0 || late > lateMostMinutes) return;
      // The note and the message in one transaction: a crash before it repeats both, after it neither.
      store.commit({
        documents: [{ name: lastToldDocument, body: today }],
        outbox: ways({ is: 'line', key: `today#${today}`, to: 'phone', line: todo.phoneText(nowMs) }),
      });
      toldOn = today;
      nudge();
    },
  };
}
