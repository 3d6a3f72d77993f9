import { expect, test } from 'vitest';
import { stepNotices } from '#hub/judgement/notices/notice-pipeline.ts';
import { emptyNoticeState } from '#hub/judgement/notices/notice-state.ts';
import { reconciled } from '#hub/judgement/notices/reconcile.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { alarmScript, minuteMs, usualSettings } from './alarm-script.ts';

const noon = Date.UTC(2026, 2, 10, 12, 0);
const night = Date.UTC(2026, 2, 10, 2, 0);

test('a stuck heater waits for a timer before the phone rings', () => {
  const room = alarmScript(night);
  room.tell('raised', ['a/heat']);
  expect(room.lines()).toEqual(['+0 phone: ACT NOW · a: a/heat raised']);
  room.tell('cleared', ['a/heat']);
  expect(room.lines()).toEqual(['+0 phone: Back to normal · a: a/heat cleared']);
  room.pass(1440 * minuteMs);
  expect(room.lines()).toEqual([]);
});

test('what ended before it was told is told, or its end is', () => {
  const room = alarmScript(noon);
  room.tell('raised', ['a/ph'], 'medium');
  room.pass(5_000);
  room.tell('cleared', ['a/ph'], 'medium');
  room.pass(10 * minuteMs);
  expect(room.lines()).toEqual([]);
});

test('what can wait for the morning rings at three, or is forgotten by the morning', () => {
  const room = alarmScript(night);
  room.tell('raised', ['a/ph', 'b/ph'], 'medium');
  room.pass(60 * minuteMs);
  room.tell('cleared', ['b/ph'], 'medium');
  expect(room.lines()).toEqual([]);
  room.pass(6 * 60 * minuteMs);
  expect(room.lines()).toEqual(['+300 phone: Act today · a: a/ph raised']);
});

test('nobody is asked again, or is asked every minute', () => {
  const room = alarmScript(noon, { ...usualSettings, escalateAfterMs: 1e12 });
  room.tell('raised', ['a/heat']);
  room.pass(24 * 60 * minuteMs);
  const times = room.lines().map((line) => Number(/^\+(\S+)/.exec(line)?.[1]));
  // 15 minutes doubled to four hours: common practice, no published source.
  expect(times).toEqual([0, 15, 45, 105, 225, 465, 705, 945, 1185, 1425]);
});

test('a repeat passes off the value of then as one of now', () => {
  const room = alarmScript(noon);
  room.tell('raised', ['a/heat']);
  room.pass(16 * minuteMs);
  expect(room.lines().at(-1)).toBe('+15 phone: ACT NOW, since 12:00 · a: a/heat raised');
});

test('it goes on ringing after somebody has acknowledged it', () => {
  const room = alarmScript(noon);
  room.tell('raised', ['a/heat']);
  room.pass(16 * minuteMs);
  room.tell('acknowledged', ['a/heat']);
  room.lines();
  room.pass(48 * 60 * minuteMs);
  expect(room.lines()).toEqual([]);
  room.tell('cleared', ['a/heat']);
  expect(room.lines()).toHaveLength(1);
});

test('an acknowledgement outlives an escalation, or a de-escalation ends it', () => {
  const room = alarmScript(noon);
  room.tell('raised', ['a/ph'], 'medium');
  room.pass(minuteMs);
  room.tell('acknowledged', ['a/ph'], 'medium');
  room.lines();
  room.tell('raised', ['a/ph'], 'low');
  room.pass(48 * 60 * minuteMs);
  expect(room.lines()).toEqual([]);
  room.tell('raised', ['a/ph'], 'high');
  expect(room.lines()).toEqual(['+2881 phone: ACT NOW · a: a/ph raised']);
  room.tell('acknowledged', ['a/ph'], 'high');
  room.tell('reraised', ['a/ph'], 'high');
  expect(room.lines()).toEqual(['+2881 phone: ACT NOW · a: a/ph reraised']);
});

test('nobody else is called when the first does not answer, or of what is over', () => {
  const room = alarmScript(noon);
  room.tell('raised', ['a/heat', 'b/heat', 'c/heat']);
  room.tell('raised', ['a/ph'], 'medium');
  room.pass(minuteMs);
  room.tell('acknowledged', ['b/heat']);
  room.pass(30 * minuteMs);
  const escalated = room.lines().filter((line) => line.includes('escalated'));
  expect(escalated).toEqual([
    '+20 escalated: ACT NOW, not acknowledged for 20 min · 2 alarms in 2 systems. Most urgent: a: a/heat raised',
  ]);
  room.tell('cleared', ['a/heat', 'b/heat']);
  expect(room.lines().filter((line) => line.includes('escalated'))).toEqual([
    '+31 escalated: Back to normal · a: a/heat cleared',
  ]);
});

test('fifty faults ring fifty times, or some of them are never spoken of', () => {
  const room = alarmScript(noon);
  const alarms = Array.from({ length: 50 }, (_, index) => `s${index % 4}/${index}`);
  room.tell('raised', alarms);
  room.pass(14 * minuteMs);
  const lines = room.lines();
  expect(lines).toHaveLength(13);
  expect(lines.at(-1)).toBe('+0.2 phone: ACT NOW · 38 more alarms in 4 systems. Most urgent: s0: s0/12 raised');
  room.pass(2 * 60 * minuteMs);
  const reminders = room.lines().filter((line) => line.includes('phone:'));
  expect(reminders.length).toBeLessThanOrEqual(4);
  expect(reminders[0]).toContain('50 alarms in 4 systems not acknowledged');
});

test('a flood of small things spends what the heater needs afterwards', () => {
  const room = alarmScript(noon);
  room.tell(
    'raised',
    Array.from({ length: 40 }, (_, index) => `s/${index}`),
    'medium',
  );
  room.pass(minuteMs);
  expect(room.lines()).toHaveLength(7);
  room.tell('raised', ['a/heat']);
  expect(room.lines()).toEqual(['+1 phone: ACT NOW · a: a/heat raised']);
});

test('a high alarm after a flood of them is kept for an hour', () => {
  const room = alarmScript(noon);
  room.tell(
    'raised',
    Array.from({ length: 40 }, (_, index) => `s/${index}`),
  );
  room.pass(minuteMs);
  room.lines();
  room.tell('raised', ['a/heat']);
  room.pass(11 * minuteMs);
  expect(room.lines()).toEqual(['+10.2 phone: ACT NOW · a: a/heat raised']);
});

test('an alarm that was hidden while it waited for the summary is never spoken of', () => {
  const room = alarmScript(noon);
  const alarms = Array.from({ length: 13 }, (_, index) => `s/${index}`);
  room.tell('raised', alarms);
  room.tell('suppressed', ['s/12']);
  room.pass(minuteMs);
  room.lines();
  room.tell('unsuppressed', ['s/12']);
  room.pass(minuteMs);
  expect(room.lines()).toEqual(['+1.2 phone: ACT NOW · s: s/12 raised']);
});

test('fifty that end at once ring fifty times, or nobody hears that it is over', () => {
  const room = alarmScript(noon);
  const alarms = Array.from({ length: 50 }, (_, index) => `s${index % 4}/${index}`);
  room.tell('raised', alarms);
  room.pass(minuteMs);
  room.lines();
  room.tell('cleared', alarms);
  room.pass(2 * 60 * minuteMs);
  const lines = room.lines();
  expect(lines).toEqual(['+60.2 phone: Back to normal · 13 more alarms']);
});

test('a repeated event rings a second time; a room whose rules lost their memory never rings again', () => {
  const room = alarmScript(noon);
  const [first] = room.tell('raised', ['a/heat']);
  const [end] = room.tell('cleared', ['a/heat']);
  room.lines();
  for (const event of [first, end, first]) if (event !== undefined) room.give([event]);
  expect(room.lines()).toEqual([]);
  room.pass(minuteMs);
  if (first !== undefined) room.give([{ ...first, timeMs: room.nowMs() }]);
  expect(room.lines()).toHaveLength(1);
});

test('a clock that is set back by a day silences the reminders for a day', () => {
  const room = alarmScript(noon);
  room.tell('raised', ['a/heat']);
  room.stepClock(-1440 * minuteMs);
  room.lines();
  room.pass(15 * minuteMs);
  expect(room.lines()).toHaveLength(1);
});

test('shelved, or hidden by its cause, it rings on', () => {
  const room = alarmScript(noon);
  room.tell('raised', ['a/heat', 'b/heat']);
  room.tell('shelved', ['a/heat']);
  room.tell('suppressed', ['b/heat']);
  room.lines();
  room.pass(10 * 60 * minuteMs);
  expect(room.lines()).toEqual([]);
  room.unshelve('a/heat');
  expect(room.lines()).toEqual(['+600 phone: ACT NOW · a: a/heat reraised']);
  room.tell('unsuppressed', ['b/heat']);
  room.pass(minuteMs);
  expect(room.lines()).toEqual(['+600 phone: ACT NOW, since 12:00 · b: b/heat raised']);
});

test('reminders pile up for a broker that is away', () => {
  const room = alarmScript(noon, { ...usualSettings, escalateAfterMs: 1e12 });
  room.reach(false);
  room.tell('raised', ['a/heat']);
  room.pass(24 * 60 * minuteMs);
  expect(room.lines()).toHaveLength(1);
  room.reach(true);
  expect(room.lines()).toHaveLength(1);
});

test('a phone is reminded for ever of an alarm that the configuration took away, or never told of one that was lost', () => {
  const room = alarmScript(noon);
  room.tell('raised', ['gone/heat']);
  const standing: StandingAlarm = {
    ...{ id: 'a/heat', system: 'a', metric: 'temperature', rule: 'out_of_band', priority: 'high' },
    ...{ state: 'unacknowledged', isStanding: true, sinceMs: noon, message: 'warm', occurrence: 3 },
    ...{ isFrozen: false, isChattering: false, isStale: false },
  };
  const look = (state: ReturnType<typeof room.state>) => reconciled(state, [standing], () => 'a: warm', noon);
  const once = look(room.state());
  expect(once.open.map(({ alarm, isAbsent }) => [alarm, isAbsent])).toEqual([
    ['gone/heat', true],
    ['a/heat', false],
  ]);
  const twice = look(once);
  expect(twice.open.map(({ alarm }) => alarm)).toEqual(['a/heat']);
  expect(look(twice)).toBe(twice);
});

test('good water rings the phone because its alarm is expected again, or bad water stays silent when it has come', () => {
  const settings = { ...usualSettings, escalateAfterMs: 20 * minuteMs };
  const event: AlarmEvent = {
    ...{ timeMs: noon, alarm: 'a/heat', occurrence: 2, state: 'raised', priority: 'high' },
    ...{ system: 'a', metric: 'temperature', rule: 'out_of_band', message: 'warm' },
  };
  let state = emptyNoticeState();
  const step = (minute: number, isBack: boolean, news: AlarmEvent[] = []) => {
    const nowMs = noon + minute * minuteMs;
    const back = new Set(isBack ? ['a/heat'] : []);
    const told = news.map((each) => ({ event: each, text: 'a: warm' }));
    const result = stepNotices(settings, state, { news: told, nowMs, canReach: true, back });
    state = result.state;
    return { lines: result.messages.map(({ line }) => line), nextMs: result.nextMs };
  };
  expect(step(0, false, [event]).lines).toHaveLength(1);
  // No repeat and no second phone for two hours; looked at each minute, since no event tells that it came again.
  for (let minute = 1; minute < 120; minute += 1) {
    const { lines, nextMs } = step(minute, true);
    expect(lines).toEqual([]);
    expect(nextMs).toBeLessThanOrEqual(noon + (minute + 1) * minuteMs);
  }
  expect(step(120, false).lines.length).toBeGreaterThan(0);
});
