import { describe, expect, test } from 'vitest';
import {
  daysOfWeek,
  isIsoWeek,
  isoWeekAt,
  localTimeText,
  weekAfter,
  weekBounds,
} from '#hub/model/calendar/iso-week.ts';
import { dayStartsByPython } from './python-calendar.ts';

const hour = 3_600_000;
const hoursOf = (week: string, zone: string) => {
  const { startMs, endMs } = weekBounds(week, zone);
  return (endMs - startMs) / hour;
};

describe('weeks of the calendar', () => {
  // ISO 8601: week 1 holds the first Thursday. The dates are those that Python's date.isocalendar gives.
  test.each([
    ['2005-01-01', '2004-W53'],
    ['2005-12-31', '2005-W52'],
    ['2007-01-01', '2007-W01'],
    ['2008-12-29', '2009-W01'],
    ['2010-01-03', '2009-W53'],
    ['2026-11-16', '2026-W47'],
    ['2026-12-31', '2026-W53'],
    ['2027-01-03', '2026-W53'],
    ['2027-01-04', '2027-W01'],
  ])('%s is in %s', (date, week) => {
    expect(isoWeekAt(Date.parse(`${date}T12:00:00Z`), 'UTC')).toBe(week);
  });

  test.each(['2026-W00', '2026-W54', '2025-W53', '2026-47', '2026-W7', '2026-W47-1', '', ' 2026-W47', '２０２６-W47'])(
    '"%s" is no week',
    (text) => {
      expect(isIsoWeek(text)).toBe(false);
      expect(() => weekBounds(text, 'UTC')).toThrow(RangeError);
    },
  );

  test('the week after the last of a year is the first of the next', () => {
    expect(weekAfter('2026-W53')).toBe('2027-W01');
    expect(weekAfter('2025-W52')).toBe('2026-W01');
    expect(weekAfter('2027-W01', -1)).toBe('2026-W53');
  });

  test('a moment late on Sunday is in the old week in one room and in the new one in another', () => {
    const moment = Date.parse('2026-11-15T20:00:00Z');
    expect(isoWeekAt(moment, 'Europe/Lisbon')).toBe('2026-W46');
    expect(isoWeekAt(moment, 'Asia/Kolkata')).toBe('2026-W47');
  });
});

describe('days in the zone of the room', () => {
  test('a week in which the clocks change has 167 or 169 hours, by half an hour where they change by half an hour', () => {
    expect(hoursOf('2026-W13', 'Europe/Lisbon')).toBe(167);
    expect(hoursOf('2026-W43', 'Europe/Lisbon')).toBe(169);
    expect(hoursOf('2026-W14', 'Australia/Lord_Howe')).toBe(168.5);
    expect(hoursOf('2026-W40', 'Australia/Lord_Howe')).toBe(167.5);
    expect(hoursOf('2026-W13', 'Asia/Kolkata')).toBe(168);
  });

  const weeks = [
    ['2026-W13', 'Europe/Lisbon'],
    ['2026-W43', 'Europe/Lisbon'],
    ['2026-W13', 'Asia/Kolkata'],
    ['2026-W13', 'Asia/Kathmandu'],
    ['2026-W14', 'Australia/Lord_Howe'],
    ['2026-W40', 'Australia/Lord_Howe'],
    // The clocks go forward at midnight: the day begins at 01:00.
    ['2018-W44', 'America/Sao_Paulo'],
    ['2018-W45', 'America/Sao_Paulo'],
    ['2026-W13', 'Asia/Beirut'],
    ['2022-W12', 'Asia/Tehran'],
    // The clocks go back to midnight or over it: midnight comes twice, or Saturday gets its last hour again.
    ['2018-W07', 'America/Sao_Paulo'],
    ['2025-W43', 'Asia/Beirut'],
    ['2025-W44', 'America/Havana'],
    ['2025-W43', 'Atlantic/Azores'],
    ['2025-W45', 'America/St_Johns'],
    // A whole day is left out: Samoa crossed the date line, and 30 December 2011 never was.
    ['2011-W52', 'Pacific/Apia'],
    ['2026-W53', 'Pacific/Kiritimati'],
    ['2026-W53', 'Pacific/Marquesas'],
    ['1970-W01', 'UTC'],
  ] as const;
  const byPython = dayStartsByPython(weeks);

  test.each(weeks.map(([week, zone], index) => [week, zone, byPython[index]!] as const))(
    'the days of %s in %s begin when another calendar says so',
    (week, zone, starts) => {
      const days = daysOfWeek(week, zone);
      expect(days.map(({ startMs }) => startMs)).toEqual(starts.slice(0, 7));
      expect(days.map(({ endMs }) => endMs)).toEqual(starts.slice(1));
      expect(weekBounds(week, zone)).toEqual({ startMs: starts[0], endMs: starts[7] });
    },
  );

  test('no minute of a year is lost or counted twice between the weeks, in any zone', () => {
    for (const zone of ['Europe/Lisbon', 'Asia/Beirut', 'Australia/Lord_Howe', 'America/Sao_Paulo', 'Pacific/Apia']) {
      for (let week = '2011-W01'; week < '2012-W10'; week = weekAfter(week)) {
        expect(weekBounds(week, zone).endMs).toBe(weekBounds(weekAfter(week), zone).startMs);
        for (const { startMs, endMs } of daysOfWeek(week, zone)) expect(endMs).toBeGreaterThanOrEqual(startMs);
      }
    }
  });
});

test('times carry the offset that held in the room at that moment', () => {
  expect(localTimeText(Date.parse('2026-03-29T00:59:59.999Z'), 'Europe/Lisbon')).toBe('2026-03-29T00:59:59+00:00');
  expect(localTimeText(Date.parse('2026-03-29T01:00:00Z'), 'Europe/Lisbon')).toBe('2026-03-29T02:00:00+01:00');
  expect(localTimeText(Date.parse('2026-10-25T00:30:00Z'), 'Europe/Lisbon')).toBe('2026-10-25T01:30:00+01:00');
  expect(localTimeText(Date.parse('2026-10-25T01:30:00Z'), 'Europe/Lisbon')).toBe('2026-10-25T01:30:00+00:00');
  expect(localTimeText(Date.parse('2026-06-01T00:00:00Z'), 'Asia/Kolkata')).toBe('2026-06-01T05:30:00+05:30');
});
