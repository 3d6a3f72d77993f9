import { describe, expect, test } from 'vitest';
import { daysOfWeek, isoWeekOf, midnights, whenText } from '../../../hub/web/src/kit/times.ts';
import { isoWeekByPython } from './iso-week-by-python.ts';

const lisbon = 'Europe/Lisbon';
const at = (text: string) => Date.parse(text);

describe('times as the page says them', () => {
  // The clocks of Lisbon went back on 25 October 2026 and forward on 29 March 2026 at 01:00 UTC. @source IANA tzdata
  test('the day on which the clocks change begins at another hour', () => {
    expect(midnights(at('2026-10-24T12:00Z'), at('2026-10-27T12:00Z'), lisbon)).toEqual(
      ['2026-10-24T23:00Z', '2026-10-26T00:00Z', '2026-10-27T00:00Z'].map(at),
    );
    expect(midnights(at('2026-03-28T12:00Z'), at('2026-03-31T12:00Z'), lisbon)).toEqual(
      ['2026-03-29T00:00Z', '2026-03-29T23:00Z', '2026-03-30T23:00Z'].map(at),
    );
  });

  test('the midnights of a zone with a half hour are those of another', () => {
    expect(midnights(at('2026-11-25T12:00Z'), at('2026-11-26T12:00Z'), 'Australia/Adelaide')).toEqual([
      at('2026-11-25T13:30Z'),
    ]);
  });

  test.each([
    ['2026-11-25T15:40Z', 'within the hour'],
    ['2026-11-25T18:05Z', 'in about 3 h'],
    ['2026-11-25T22:00Z', 'this evening'],
    ['2026-11-26T02:00Z', 'tonight'],
    ['2026-11-26T08:00Z', 'tomorrow morning'],
    ['2026-11-27T03:00Z', 'tomorrow night'],
    ['2026-11-27T19:00Z', 'on Friday evening'],
    ['2026-11-28T02:00Z', 'on Friday night'],
  ])('the keeper is told another time than %s', (time, words) => {
    expect(whenText(at(time), at('2026-11-25T15:00Z'), lisbon)).toBe(words);
  });

  test.each([
    ['2026-11-26T05:59Z', 'tonight'],
    ['2026-11-26T08:00Z', 'this morning'],
    ['2026-11-27T02:00Z', 'tomorrow night'],
    ['2026-11-27T08:00Z', 'tomorrow morning'],
  ])('in the night the keeper is told another time than %s', (time, words) => {
    expect(whenText(at(time), at('2026-11-26T00:15Z'), lisbon)).toBe(words);
  });

  test('the link of a week opens the file of another one', () => {
    const days = ['2026-11-25', '2026-01-01', '2027-01-01', '2024-12-30', '2020-12-31', '2021-01-03', '2016-01-03'];
    const weeks = isoWeekByPython(days);
    expect(days.map((day) => isoWeekOf(at(`${day}T12:00Z`), lisbon))).toEqual(weeks);
  });

  // @source ISO 8601: a week is from Monday to Sunday; the days by the calendar of 2026, and the last night of summer time
  test.each([
    ['2026-11-23T00:00Z', '23 to 29 Nov'],
    ['2026-11-29T23:59Z', '23 to 29 Nov'],
    ['2026-10-01T12:00Z', '28 Sept to 4 Oct'],
    ['2026-10-25T23:30Z', '19 to 25 Oct'],
    ['2027-01-02T12:00Z', '28 Dec to 3 Jan'],
  ])('a week is taken for another one on %s', (time, days) => {
    expect(daysOfWeek(at(time), lisbon)).toBe(days);
  });
});
