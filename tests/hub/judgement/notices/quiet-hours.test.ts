import { DateTime } from 'luxon';
import { expect, test } from 'vitest';
import { quietEndsMs } from '#hub/judgement/notices/quiet-hours.ts';
import { usualSettings } from './alarm-script.ts';

/**
 * Changes of daylight saving by the IANA time zone database (europe, australasia, asia): Lisbon 29 March 2026 01:00 to 02:00
 * and 25 October 2026 02:00 to 01:00; Lord Howe moves by half an hour, 5 April 2026 02:00 to 01:30 and 4 October 2026 02:00
 * to 02:30; Kolkata is 5:30 ahead without a change.
 */
const at = (text: string, zone: string) => DateTime.fromISO(text, { zone }).toMillis();

function ends(timezone: string, window: [number, number], from: number): string {
  const [fromMinute, toMinute] = window;
  const quiet = { fromMinute, toMinute };
  const endMs = quietEndsMs({ ...usualSettings, timezone, quiet: { medium: quiet, low: quiet } }, 'medium', from);
  return endMs === from
    ? 'not quiet'
    : (DateTime.fromMillis(endMs, { zone: timezone }).toISO({ suppressMilliseconds: true }) ?? '');
}

const tenToSeven: [number, number] = [22 * 60, 7 * 60];

test('the night before a change of the clocks ends an hour early or late', () => {
  const zone = 'Europe/Lisbon';
  expect(ends(zone, tenToSeven, at('2026-03-28T23:30', zone))).toBe('2026-03-29T07:00:00+01:00');
  expect(ends(zone, tenToSeven, at('2026-10-24T23:30', zone))).toBe('2026-10-25T07:00:00+00:00');
  expect(ends(zone, tenToSeven, at('2026-10-25T07:00', zone))).toBe('not quiet');
  expect(ends(zone, tenToSeven, at('2026-03-29T06:59', zone))).toBe('2026-03-29T07:00:00+01:00');
});

test('quiet hours that end within the hour that does not exist, or exists twice, never end', () => {
  const zone = 'Europe/Lisbon';
  // 01:30 does not exist: the first instant that is not quiet is the change itself.
  expect(ends(zone, [23 * 60, 90], at('2026-03-28T23:30', zone))).toBe('2026-03-29T02:00:00+01:00');
  // 01:30 comes twice; the wall clock shows 01:00 again, which is quiet again until the second 01:30.
  expect(ends(zone, [23 * 60, 90], at('2026-10-24T23:30', zone))).toBe('2026-10-25T01:30:00+01:00');
  expect(ends(zone, [23 * 60, 90], at('2026-10-25T01:40', zone))).toBe('not quiet');
  const second = DateTime.fromISO('2026-10-25T01:10:00Z').toMillis();
  expect(ends(zone, [23 * 60, 90], second)).toBe('2026-10-25T01:30:00+00:00');
});

test('a zone with half hours is quiet at the wrong time', () => {
  const india = 'Asia/Kolkata';
  expect(ends(india, tenToSeven, Date.UTC(2026, 2, 10, 16, 29))).toBe('not quiet');
  expect(ends(india, tenToSeven, Date.UTC(2026, 2, 10, 16, 30))).toBe('2026-03-11T07:00:00+05:30');
  const lordHowe = 'Australia/Lord_Howe';
  expect(ends(lordHowe, tenToSeven, at('2026-04-04T23:00', lordHowe))).toBe('2026-04-05T07:00:00+10:30');
  expect(ends(lordHowe, tenToSeven, at('2026-10-03T23:00', lordHowe))).toBe('2026-10-04T07:00:00+11:00');
});

test('high alarms are quiet too; a keeper who wants no quiet hours has them', () => {
  const zone = 'Europe/Lisbon';
  const three = at('2026-03-10T03:00', zone);
  expect(quietEndsMs({ ...usualSettings, timezone: zone }, 'high', three)).toBe(three);
  expect(ends(zone, [0, 0], three)).toBe('not quiet');
});

test('every minute of the two nights is judged by the clock on the wall', () => {
  for (const [zone, night] of [
    ['Europe/Lisbon', '2026-03-28T20:00'],
    ['Europe/Lisbon', '2026-10-24T20:00'],
    ['Australia/Lord_Howe', '2026-04-04T20:00'],
    ['Australia/Lord_Howe', '2026-10-03T20:00'],
  ] as const) {
    const startMs = at(night, zone);
    for (let minute = 0; minute < 14 * 60; minute += 7) {
      const nowMs = startMs + minute * 60_000;
      const { hour } = DateTime.fromMillis(nowMs, { zone });
      const isQuiet = hour >= 22 || hour < 7;
      expect(ends(zone, tenToSeven, nowMs) !== 'not quiet', `${zone} ${nowMs}`).toBe(isQuiet);
    }
  }
});
