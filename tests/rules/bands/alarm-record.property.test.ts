import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { type AlarmRecord, newAlarm } from '#rules/bands/alarm-record.ts';
import { chatteringWindowMs } from '#rules/bands/comings.ts';
import type { Condition } from '#rules/bands/condition.ts';
import {
  acknowledge,
  type Gate,
  observe,
  openGate,
  settle,
  shelve,
  unlatch,
  unshelve,
} from '#rules/bands/life-cycle.ts';
import { hourMs, minuteMs, mondayMs } from './script.ts';

/** One alarm alone, moved in every order that its functions can be called in, with a clock that may step either way. */

const settings = {
  onDelayMs: 5 * minuteMs,
  offDelayMs: 10 * minuteMs,
  gapToleranceMs: 10 * minuteMs,
  reAlarmMs: hourMs,
};

type Move =
  | { do: 'observe'; condition: Condition; times: number }
  | { do: 'clock'; minutes: number }
  | { do: 'acknowledge' | 'unshelve' | 'unlatch' | 'restart' }
  | { do: 'shelve'; minutes: number }
  | { do: 'gate'; gate: Gate };

const move: fc.Arbitrary<Move> = fc.oneof(
  fc.record({
    do: fc.constant('observe' as const),
    condition: fc.constantFrom<Condition>('abnormal', 'abnormal', 'normal', 'deadband', 'unknown'),
    times: fc.constantFrom(1, 2, 6, 12),
  }),
  fc.record({ do: fc.constant('clock' as const), minutes: fc.constantFrom(1, 11, 90, -3, -90, 5000, -5000) }),
  fc.record({
    do: fc.constantFrom('acknowledge' as const, 'unshelve' as const, 'unlatch' as const, 'restart' as const),
  }),
  fc.record({ do: fc.constant('shelve' as const), minutes: fc.constantFrom(-1, 2, 60, 1_000_000) }),
  fc.record({
    do: fc.constant('gate' as const),
    gate: fc.constantFrom<Gate>(openGate, openGate, { is: 'weak', cause: 'a' }, { is: 'strong', cause: 'b' }),
  }),
);

function live(moves: readonly Move[]): { record: AlarmRecord; nowMs: number; events: AlarmEvent[] } {
  let record = newAlarm({ id: 'a', system: 's', metric: 'ph', rule: 'rate', priority: 'low' });
  let gate: Gate = openGate;
  let nowMs = mondayMs;
  const events: AlarmEvent[] = [];
  for (const one of moves) {
    if (one.do === 'observe') {
      for (let i = 0; i < one.times; i += 1) {
        nowMs += minuteMs;
        observe(record, settings, one.condition, nowMs);
        settle(record, settings, gate, nowMs, events);
      }
    } else if (one.do === 'clock') nowMs += one.minutes * minuteMs;
    else if (one.do === 'acknowledge') acknowledge(record, 'ana', nowMs, events);
    else if (one.do === 'unshelve') unshelve(record, 'ana', nowMs, events);
    else if (one.do === 'shelve') shelve(record, nowMs + one.minutes * minuteMs, { by: 'ana' }, nowMs, events);
    else if (one.do === 'unlatch') unlatch(record, nowMs);
    else if (one.do === 'gate') gate = one.gate;
    else record = JSON.parse(JSON.stringify(record)) as AlarmRecord;
    settle(record, settings, gate, nowMs, events);
    expect(record.isTold && !record.isLatched).toBe(false);
    // Nothing more to tell until something moves.
    const before = events.length;
    settle(record, settings, gate, nowMs, events);
    expect(events.length).toBe(before);
  }
  return { record, nowMs, events };
}

const runs = { numRuns: 2000, seed: 20_240_102 };
const moves = fc.array(move, { maxLength: 40 });

test('an event is told twice under one name', () => {
  fc.assert(
    fc.property(moves, (all) => {
      const keys = live(all).events.map(({ occurrence, state }) => `${occurrence} ${state}`);
      expect(new Set(keys).size).toBe(keys.length);
    }),
    runs,
  );
});

test('an alarm is raised twice, or cleared and never raised', () => {
  fc.assert(
    fc.property(moves, (all) => {
      let isStanding = false;
      let occurrence = 0;
      for (const event of live(all).events) {
        expect(event.occurrence).toBeGreaterThanOrEqual(occurrence);
        occurrence = event.occurrence;
        if (event.state === 'raised') expect(isStanding).toBe(false);
        if (event.state === 'cleared' || event.state === 'reraised') expect(isStanding).toBe(true);
        if (event.state === 'raised') isStanding = true;
        if (event.state === 'cleared') isStanding = false;
      }
    }),
    runs,
  );
});

test('a past hides what holds for longer than the on-delay', () => {
  fc.assert(
    fc.property(moves, (all) => {
      const { record, nowMs, events } = live(all);
      unshelve(record, 'ana', nowMs, events);
      for (let minute = 1; minute <= 6; minute += 1) observe(record, settings, 'abnormal', nowMs + minute * minuteMs);
      settle(record, settings, openGate, nowMs + 6 * minuteMs, events);
      expect(record).toMatchObject({ isLatched: true, isTold: true, isSuppressed: false });
    }),
    runs,
  );
});

test('a past keeps an alarm standing on what is normal', () => {
  fc.assert(
    fc.property(moves, (all) => {
      const { record, nowMs, events } = live(all);
      const endMs = nowMs + chatteringWindowMs + 11 * minuteMs;
      for (let atMs = nowMs + minuteMs; atMs <= endMs; atMs += minuteMs) observe(record, settings, 'normal', atMs);
      settle(record, settings, openGate, endMs, events);
      expect(record).toMatchObject({ isLatched: false, isTold: false, isSuppressed: false });
    }),
    { ...runs, numRuns: 300 },
  );
});

test('missing data moves an alarm', () => {
  fc.assert(
    fc.property(moves, (all) => {
      const { record, nowMs } = live(all);
      const before = JSON.stringify(record);
      for (let hour = 1; hour < 30; hour += 1) {
        expect(observe(record, settings, 'unknown', nowMs + hour * hourMs)).toBe(false);
      }
      expect(JSON.stringify(record)).toBe(before);
    }),
    runs,
  );
});
