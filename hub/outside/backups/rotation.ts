import { DateTime } from 'luxon';

export type BackupsToKeep = { keep_daily: number; keep_weekly: number; keep_monthly: number };

const namePattern = /^brinekeep-(\d{4}-\d{2}-\d{2})\.db$/;

/** @param date  of the room, e.g. 2026-11-25 */
export function backupName(date: string): string {
  return `brinekeep-${date}.db`;
}

/**
 * Which backups may go: those that are not among the newest of the last days, ISO weeks and months for which one is kept.
 *
 * @param made      names that the hub itself has given; a name of another kind is never given back
 * @param lastGood  never given back
 */
export function outdated(made: readonly string[], keep: BackupsToKeep, lastGood: string): string[] {
  const dated = made
    .flatMap((name) => {
      const date = namePattern.exec(name)?.[1];
      return date === undefined ? [] : [{ name, date }];
    })
    .sort((a, b) => (a.date < b.date ? 1 : -1));
  const kept = new Set([lastGood]);
  const keepNewestOfEach = (most: number, spanOf: (date: string) => string) => {
    const spans = new Set<string>();
    for (const { name, date } of dated) {
      const span = spanOf(date);
      if (spans.has(span)) continue;
      if (spans.size >= most) break;
      spans.add(span);
      kept.add(name);
    }
  };
  keepNewestOfEach(keep.keep_daily, (date) => date);
  keepNewestOfEach(keep.keep_weekly, (date) => DateTime.fromISO(date, { zone: 'utc' }).toFormat("kkkk-'W'WW"));
  keepNewestOfEach(keep.keep_monthly, (date) => date.slice(0, 7));
  return dated.map(({ name }) => name).filter((name) => !kept.has(name));
}

/** The newest time at which a backup was due by now, UTC milliseconds. @param at  `HH:MM` by the wall clock of the zone */
export function lastDueMs(nowMs: number, at: string, zone: string): number {
  const [hour = 0, minute = 0] = at.split(':').map(Number);
  // From the parts, and not by setting them: an hour that comes twice would else be either of the two.
  const on = ({ year, month, day }: DateTime) =>
    DateTime.fromObject({ year, month, day, hour, minute }, { zone }).toMillis();
  const now = DateTime.fromMillis(nowMs, { zone });
  return on(now) <= nowMs ? on(now) : on(now.minus({ days: 1 }));
}
