import { expect, test } from 'vitest';
import { createAlarmCommands } from '#hub/judgement/watch/alarm-commands.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { configOf, roomText } from '../../servers/hub-process.ts';

const nowMs = Date.UTC(2026, 9, 5, 8);

function alarm(metric: string, priority: StandingAlarm['priority'], state: StandingAlarm['state']): StandingAlarm {
  const standing = {
    ...{ id: `display/${metric}/out_of_band/high`, system: 'display', metric, rule: 'out_of_band', side: 'high' },
    ...{ priority, state, isStanding: state !== 'returned_unacknowledged', occurrence: 1, sinceMs: nowMs - 60_000 },
    message: `${metric} is high`,
  };
  return standing as unknown as StandingAlarm;
}

/** What the phone is told, and which alarms the rules were asked to acknowledge. `deaf`: what the rules do not take. */
function acknowledgeAll(standing: StandingAlarm[], deaf: readonly string[] = []) {
  let told = '';
  const asked: string[] = [];
  const desk = createAlarmCommands({
    today: () => '',
    config: configOf(roomText('/nowhere')),
    store: { latest: () => undefined },
    watch: {
      offer(evidence: Evidence) {
        if (evidence.is !== 'command' || evidence.command.do !== 'acknowledge') return;
        const { alarm: id } = evidence.command;
        asked.push(id);
        const found = standing.find((each) => each.id === id);
        if (found !== undefined && !deaf.includes(id)) found.state = 'acknowledged';
      },
      standing: () => standing,
      silence: () => ({ isSilent: false, allowedMs: null }),
    },
    now: () => nowMs,
    textOf: ({ message }) => `Display tank: ${message}`,
    answer: (line) => {
      told = line;
    },
  });
  expect(desk.fromPhone({ do: 'acknowledge_all', by: 'phone' })).toBe(true);
  return { told, asked };
}

test('whoever acknowledges all is not told that it went through, or of what', () => {
  const one = acknowledgeAll([alarm('temperature', 'high', 'unacknowledged')]);
  expect(one.told).toBe('Acknowledged: Display tank: temperature is high');
  // The most urgent is named; what is acknowledged or shelved already is neither counted nor asked for again.
  const { told, asked } = acknowledgeAll([
    alarm('nitrate', 'low', 'unacknowledged'),
    alarm('ph', 'medium', 'shelved'),
    alarm('alkalinity', 'medium', 'acknowledged'),
    alarm('temperature', 'high', 'returned_unacknowledged'),
  ]);
  expect(told).toBe('2 alarms acknowledged. Most urgent: Display tank: temperature is high');
  expect(asked).toHaveLength(2);
});

test('an alarm that goes on ringing is told to be acknowledged', () => {
  const two = [alarm('temperature', 'high', 'unacknowledged'), alarm('ph', 'medium', 'unacknowledged')];
  const { told } = acknowledgeAll(two, ['display/ph/out_of_band/high']);
  expect(told).toBe('1 could not be acknowledged. Acknowledged: Display tank: temperature is high');
});

test('with nothing open the phone is left without an answer', () => {
  expect(acknowledgeAll([alarm('ph', 'medium', 'shelved')]).told).toBe('Nothing to acknowledge.');
});
