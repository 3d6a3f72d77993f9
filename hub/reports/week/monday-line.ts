import type * as z from 'zod';
import type { Commit } from '#adapters/ports/store.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { Ways } from '../../judgement/notices/notice-items.ts';
import { noticeSettings } from '../../judgement/notices/notice-settings.ts';
import type { weekPayload } from '../../judgement/notices/payload-schemas.ts';
import { phoneLine } from '../../judgement/notices/phone-line.ts';
import { quietEndsMs } from '../../judgement/notices/quiet-hours.ts';
import type { ReviewFigures } from '../../model/answers/review-schema.ts';
import type { Config } from '../../model/config/schema.ts';
import { numberOf } from './review/figure.ts';

/** The document of the store that names the newest week whose line is on its way to the phone. */
export const lastToldDocument = 'last_week_told';

/**
 * The result of a week for people: a line for the phone, and its summary, retained. Committed together with the note
 * that it was told.
 *
 * Is: one line for a week, over any restart, with the delivery of the outbox behind it.
 * Is not: counted against the hour's budget of notices, which alarms need; told within the quiet hours of low notices.
 */
export function mondayCommit(review: ReviewFigures, ways: Ways): Commit {
  const { week } = review;
  return {
    documents: [{ name: lastToldDocument, body: week }],
    outbox: [
      ...ways({ is: 'week', key: `week:summary#${week}`, summary: JSON.stringify(weekSummary(review)) }),
      ...ways({ is: 'line', key: `week:line#${week}`, to: 'phone', line: phoneLine(review.line) }),
    ],
  };
}

/** False within the quiet hours of low notices: nobody is woken for a result. */
export function mayTellNow(config: Config, nowMs: number): boolean {
  return quietEndsMs(noticeSettings(config), 'low', nowMs) <= nowMs;
}

/** What is not known is left out. */
function weekSummary(review: ReviewFigures): z.infer<typeof weekPayload> {
  const { week, site, fromMs, toMs, line, bandsKept, alarms, demand, toDo } = review;
  const kept = numberOf(bandsKept);
  const [raised, perDay] = [numberOf(alarms.raised), numberOf(alarms.perDay)];
  return {
    week,
    site,
    from: new Date(fromMs).toISOString(),
    to: new Date(toMs).toISOString(),
    line,
    ...(kept === undefined ? {} : { bands_kept_percent: Math.floor(kept * 1000) / 10 }),
    ...defined({ alarms: raised }),
    ...(perDay === undefined ? {} : { alarms_per_day: Number(perDay.toFixed(2)) }),
    demand: demand.flatMap(({ system, metric, unit, perDay: use, change }) => {
      const [value, difference] = [numberOf(use), numberOf(change)];
      if (value === undefined) return [];
      const known = { system, analyte: metric, unit, per_day: Number(value.toFixed(3)) };
      return [difference === undefined ? known : { ...known, change: Number(difference.toFixed(3)) }];
    }),
    to_do: toDo.map(({ system, kind, what, reason }) => ({ system, kind, what, reason })),
  };
}
