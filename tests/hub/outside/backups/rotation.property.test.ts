import fc from 'fast-check';
import { DateTime } from 'luxon';
import { expect, test } from 'vitest';
import { backupName, lastDueMs, outdated } from '#hub/outside/backups/rotation.ts';

const day = (offset: number) =>
  DateTime.fromISO('2026-01-01', { zone: 'utc' }).plus({ days: offset }).toISODate() ?? '';
const offsets = fc.uniqueArray(fc.integer({ min: 0, max: 900 }), { minLength: 1, maxLength: 60 });
const keep = fc.record({
  keep_daily: fc.integer({ min: 1, max: 10 }),
  keep_weekly: fc.integer({ min: 0, max: 6 }),
  keep_monthly: fc.integer({ min: 0, max: 14 }),
});

test('the rotation deletes the last sound backup, one of the newest days, or something that is no backup', () => {
  fc.assert(
    fc.property(offsets, keep, fc.nat(), (all, rule, place) => {
      const made = [...all.map((offset) => backupName(day(offset))), 'brinekeep.db', 'photos', 'brinekeep-mine.db'];
      const lastGood = backupName(day(all[place % all.length] ?? 0));
      const gone = new Set(outdated(made, rule, lastGood));
      expect(gone.has(lastGood)).toBe(false);
      for (const name of ['brinekeep.db', 'photos', 'brinekeep-mine.db']) expect(gone.has(name)).toBe(false);
      const newest = [...all].sort((a, b) => b - a).slice(0, rule.keep_daily);
      for (const offset of newest) expect(gone.has(backupName(day(offset)))).toBe(false);
      // No more stay than are asked for, and the last sound one.
      expect(all.length - gone.size).toBeLessThanOrEqual(rule.keep_daily + rule.keep_weekly + rule.keep_monthly + 1);
      // A second look finds nothing more to delete.
      expect(
        outdated(
          made.filter((name) => !gone.has(name)),
          rule,
          lastGood,
        ),
      ).toEqual([]);
    }),
  );
});

test('two years of nights with 7 days, 4 weeks and 6 months leave other files than a calendar says', () => {
  let made: string[] = [];
  for (let offset = 0; offset < 730; offset += 1) {
    const name = backupName(day(offset));
    made = [...made, name];
    const gone = outdated(made, { keep_daily: 7, keep_weekly: 4, keep_monthly: 6 }, name);
    made = made.filter((each) => !gone.includes(each));
  }
  // 2027-12-31 is a Friday: seven days, the Sundays of the three weeks before, the last days of five months before.
  expect(made).toEqual(
    [
      ...['2027-07-31', '2027-08-31', '2027-09-30', '2027-10-31', '2027-11-30', '2027-12-12', '2027-12-19'],
      ...['2027-12-25', '2027-12-26', '2027-12-27', '2027-12-28', '2027-12-29', '2027-12-30', '2027-12-31'],
    ].map(backupName),
  );
});

test('the time of a backup is missed or taken twice in a night in which the clocks change', () => {
  // Lisbon, 2026: 29 March 01:00 becomes 02:00; 25 October 02:00 becomes 01:00.
  const zone = 'Europe/Lisbon';
  for (const at of ['01:30', '03:30']) {
    for (const start of ['2026-03-27T12:00:00Z', '2026-10-23T12:00:00Z']) {
      const due = new Set<number>();
      for (let minute = 0; minute < 4 * 1440; minute += 10)
        due.add(lastDueMs(Date.parse(start) + minute * 60_000, at, zone));
      const dates = [...due].map((dueMs) => DateTime.fromMillis(dueMs, { zone }).toISODate());
      expect(new Set(dates).size, `${at} ${start}`).toBe(5);
      expect(dates.length, `${at} ${start}`).toBe(5);
    }
  }
});
