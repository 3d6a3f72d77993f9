import { type IsoWeek, isIsoWeek, isoWeekAt, weekAfter } from '../../model/calendar/iso-week.ts';

/** Ten years; more can only come from a clock that was wrong. The newest are kept. */
const mostWeeks = 520;

/**
 * The weeks that are over in the room's zone and have no files yet, oldest first.
 *
 * @param lastWrittenWeek  the newest week that was written. One that is not over yet was written by a clock that ran
 *                         ahead; then the week that ended last is due, so that it does not silence the files for years
 * @param firstDataMs      the oldest thing in the store; undefined for an empty one. No week before it is ever due: a
 *                         board without a battery clock wakes up in the past
 */
export function dueWeeks(
  lastWrittenWeek: IsoWeek | undefined,
  firstDataMs: number | undefined,
  nowMs: number,
  zone: string,
): IsoWeek[] {
  if (firstDataMs === undefined) return [];
  const running = isoWeekAt(nowMs, zone);
  const last = weekAfter(running, -1);
  const candidates = [isoWeekAt(firstDataMs, zone), weekAfter(running, -mostWeeks)];
  if (lastWrittenWeek !== undefined && isIsoWeek(lastWrittenWeek)) {
    candidates.push(lastWrittenWeek >= running ? last : weekAfter(lastWrittenWeek));
  }
  // Texts of weeks compare as their times do.
  let week = candidates.sort().at(-1) ?? last;
  const due: IsoWeek[] = [];
  for (; week <= last; week = weekAfter(week)) due.push(week);
  return due;
}
