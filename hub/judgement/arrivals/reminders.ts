import type { Priority } from '#rules/bands/watched-room.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { dayStartMs, localDate, localHourOf } from '../../model/calendar/local-day.ts';
import { openingLine } from '../notices/phone-line.ts';
import type { Arrival } from './arrivals-state.ts';
import { type DemandOfBatch, demandWatchDays } from './demand-watch.ts';
import { isPlanOver, lightLine } from './light-of-arrival.ts';
import { dipText, inspectionText, nextTasks, type PestWatch } from './pest-watch.ts';

/** From this hour on, site's time, the day's work is said: people are up and the day is before them. */
const reminderHour = 9;

export type Reminder = { key: string; priority: Priority; line: string };

/** Whether the reminders of today are still to be said. */
export function areRemindersDue(arrival: Arrival, nowMs: number, timezone: string): boolean {
  if (arrival.state !== 'arrived') return false;
  return localHourOf(nowMs, timezone) >= reminderHour && arrival.remindedOn !== localDate(nowMs, timezone);
}

/** What is known of an arrival's care today. */
export type CareToday = {
  pest: PestWatch | undefined;
  demand: DemandOfBatch | undefined;
  /** Of alkalinity in its system, UTC ms. */
  alkalinityTestsMs: readonly number[];
};

/** The day's work on an arrival: the rack, the eye, the dip, the test, and once what it added. One line for each. */
export function remindersOf(arrival: Arrival, care: CareToday, nowMs: number, timezone: string): Reminder[] {
  const today = localDate(nowMs, timezone);
  const say = (what: string, priority: Priority, text: string): Reminder => ({
    key: `arrival:${arrival.id}#${what}#${today}`,
    priority,
    line: openingLine(priority, `${arrival.name} (${arrival.id}): ${text}`),
  });
  const found: Reminder[] = [];
  const light = arrival.light;
  const lightToday = light === undefined ? undefined : lightLine(light, nowMs, timezone);
  if (light !== undefined && lightToday !== undefined && !isPlanOver(light, nowMs, timezone))
    found.push(say('light', 'low', lightToday));
  const { dip, inspection, missed } = nextTasks(care.pest?.plan?.tasks ?? [], nowMs);
  // From the day its window opens; the further it goes, the more it matters.
  if (dip !== undefined && dip.state !== 'planned') {
    found.push(say('dip', dip.state === 'late' || nowMs >= dip.dueMs ? 'medium' : 'low', dipText(dip, timezone)));
  }
  if (inspection !== undefined && inspection.dueMs <= nowMs) {
    const text = inspectionText(inspection, missed, nowMs, timezone);
    found.push(say('inspection', 'low', `${text} Look for ${care.pest?.lookFor ?? 'pests'}.`));
  }
  const day = Math.floor((nowMs - (arrival.arrivedMs ?? nowMs)) / dayMs) + 1;
  const isTestedToday = care.alkalinityTestsMs.some((timeMs) => timeMs >= dayStartMs(nowMs, timezone));
  if (day <= demandWatchDays && !isTestedToday) {
    found.push(
      say('test', 'low', `test alkalinity today (day ${day} of ${demandWatchDays}): corals that settle use more.`),
    );
  }
  if (care.demand?.isOver === true && !arrival.isDemandReported) found.push(say('demand', 'low', care.demand.text));
  return found;
}
