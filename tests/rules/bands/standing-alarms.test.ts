import { describe, expect, test } from 'vitest';
import { type AlarmRecord, newAlarm } from '#rules/bands/alarm-record.ts';
import { alarmsOf } from '#rules/bands/room.ts';
import { otherAlarm } from '#rules/bands/room-index.ts';
import { slots } from '#rules/bands/rule-settings.ts';
import { dayMs, hourMs, minuteMs, mondayMs } from './script.ts';
import { standingRoom } from './standing-room.ts';

/** The list that people see; states by IEC 62682 (clauses from memory). */

const standing: Partial<AlarmRecord> = { isLatched: true, isTold: true, abnormalSinceMs: mondayMs - hourMs };

/** The list with one alarm of a pH stream, and its silence where that stands too. */
function listed(record: Partial<AlarmRecord>, given: { isSilent?: boolean; value?: number | null } = {}) {
  const room = standingRoom({ ph: { low: 7.8, high: 8.4 } });
  const stream = room.stream('ph');
  stream.series.goodValue = given.value === undefined ? 8.6 : given.value;
  room.stands(stream, 'above');
  Object.assign(stream.series.alarms[slots.above]!, { isLatched: false, occurrence: 3, message: 'High.' }, record);
  if (given.isSilent === true) {
    room.stands(stream, 'silent');
    Object.assign(stream.series.alarms[slots.silent]!, { ...standing, value: 8.6 });
  }
  return alarmsOf(room.index.rules, room.state, mondayMs);
}

describe('the list of alarms', () => {
  test.each<[Partial<AlarmRecord>, string | undefined]>([
    [standing, 'unacknowledged'],
    [{ ...standing, isAcknowledged: true }, 'acknowledged'],
    [{ ...standing, isSuppressed: true }, 'suppressed'],
    [{ ...standing, isTold: false }, 'suppressed'],
    [{ ...standing, shelvedUntilMs: mondayMs + 1 }, 'shelved'],
    [{ shelvedUntilMs: mondayMs + 1 }, 'shelved'],
    [{ isReturned: true, endedMs: mondayMs - hourMs }, 'returned_unacknowledged'],
    [{ endedMs: mondayMs - hourMs }, undefined],
  ])('%j is listed as another state', (record, state) => {
    expect(listed(record)[0]?.state).toBe(state);
    expect(listed(record)).toHaveLength(state === undefined ? 0 : 1);
  });

  test('leaves out what a person needs to see', () => {
    expect(listed({ ...standing, shelvedUntilMs: mondayMs + 5 })[0]).toEqual({
      id: 'tank/ph/above',
      system: 'tank',
      metric: 'ph',
      rule: 'out_of_band',
      priority: 'high',
      state: 'shelved',
      isStanding: true,
      sinceMs: mondayMs - hourMs,
      value: 8.6,
      message: expect.stringContaining('pH is 8.60, above'),
      occurrence: 3,
      untilMs: mondayMs + 5,
      isFrozen: false,
      isChattering: false,
      isStale: false,
    });
    expect(listed(standing)[0]).not.toHaveProperty('untilMs');
    expect(listed(standing, { value: null })[0]).not.toHaveProperty('value');
    // Without a value of now it says what it said.
    expect(listed(standing, { value: null })[0]?.message).toBe('High.');
    // It says when a returned one ended, and now where neither is known.
    expect(listed({ isReturned: true, endedMs: mondayMs - 2 * hourMs })[0]).toMatchObject({
      isStanding: false,
      sinceMs: mondayMs - 2 * hourMs,
    });
    expect(listed({ ...standing, abnormalSinceMs: null })[0]?.sinceMs).toBe(mondayMs);
  });

  test('does not say that an alarm is frozen, or says so of the silence itself or of one that is over', () => {
    const both = listed(standing, { isSilent: true });
    expect(both.map(({ id, isFrozen }) => `${id} ${isFrozen}`)).toEqual(['tank/ph/above true', 'tank/ph/silent false']);
    // The silence has no value of its own.
    expect(both[0]?.value).toBe(8.6);
    expect(both[1]).not.toHaveProperty('value');
    const over = listed({ isReturned: true, endedMs: mondayMs - hourMs }, { isSilent: true });
    expect(over[0]?.isFrozen).toBe(false);
    expect(listed(standing)[0]?.isFrozen).toBe(false);
  });

  test('calls an alarm stale a moment early, or one that is over stale or chattering', () => {
    const since = (ms: number) => listed({ ...standing, abnormalSinceMs: mondayMs - ms })[0]?.isStale;
    expect(since(dayMs)).toBe(false);
    expect(since(dayMs + 1)).toBe(true);
    const latchings = [3, 2, 1].map((hours) => mondayMs - hours * hourMs);
    expect(listed({ ...standing, latchings })[0]?.isChattering).toBe(true);
    const over = listed({ isReturned: true, endedMs: mondayMs - 2 * dayMs, latchings })[0];
    expect(over).toMatchObject({ isChattering: false, isStale: false });
  });

  test('misses an alarm of no probe, or freezes it', () => {
    const room = standingRoom({});
    const subject = { id: 'tank/room/container_low/soda', system: 'tank', metric: '' as const };
    const record = otherAlarm(room.index, { ...subject, rule: 'container_low', priority: 'low' });
    Object.assign(record, standing, { value: 4, abnormalSinceMs: mondayMs - minuteMs });
    expect(alarmsOf(room.index.rules, room.state, mondayMs)).toMatchObject([
      { id: subject.id, value: 4, isFrozen: false, state: 'unacknowledged', sinceMs: mondayMs - minuteMs },
    ]);
  });
});

test('an alarm begins with something that it never saw', () => {
  const record = newAlarm({ id: 'a', system: 's', metric: '', rule: 'rate', priority: 'low' });
  const { id, system, metric, rule, priority, ...rest } = record;
  expect([id, system, metric, rule, priority]).toEqual(['a', 's', '', 'rate', 'low']);
  for (const value of Object.values(rest)) expect([null, false, 0, '', []]).toContainEqual(value);
});
