import { expect, test } from 'vitest';
import { createTroubles } from '#adapters/clock/troubles.ts';
import { createMessageIntake } from '#adapters/mqtt/message-intake.ts';
import type { Observation, Reject } from '#adapters/ports/observation.ts';
import { createManualClock } from '../clock/manual-clock.ts';

function setUp() {
  const clock = createManualClock(Date.UTC(2026, 2, 10));
  const troubles = createTroubles(clock.monotonicMs);
  const observations: Observation[] = [];
  const rejects: Reject[] = [];
  const commands: string[] = [];
  const intake = createMessageIntake(
    {
      subscriptions: [
        { topic: 'room/ph', format: 'number', channel: '' },
        { topic: 'room/t', format: 'number', channel: '' },
        { topic: 'room/rack', format: 'json', channel: 'ph', timePath: 'at' },
      ],
      ...{ commandTopics: ['brinekeep/command/+'], watched: undefined, mostPayloadBytes: 1000, troubles },
    },
    { accept: (all) => void observations.push(...all), reject: (one) => void rejects.push(one) },
    ({ topic }) => void commands.push(topic),
    clock,
  );
  const say = (topic: string, text: string) => intake.take({ topic, payload: Buffer.from(text), isRetained: false });
  const heard = (topic: string) => observations.filter(({ source }) => source === `mqtt:${topic}`).length;
  return { clock, troubles, intake, rejects, commands, say, heard };
}

test('one probe that floods an outside broker takes the hub from all others, uncounted and unnamed', async () => {
  const { clock, troubles, intake, rejects, commands, say, heard } = setUp();
  for (let count = 0; count < 5000; count += 1) say('room/ph', '8.1');
  expect(heard('room/ph')).toBe(1000);
  expect(intake.counts['too_many']).toBe(4000);
  expect(rejects[0]).toMatchObject({ source: 'mqtt:room/ph', reason: 'too_many' });
  expect(troubles.text()).toBe('somebody floods room/ph: 4000 messages too many');
  say('room/t', '25.4');
  await say('brinekeep/command/acknowledge', '{}');
  expect(heard('room/t')).toBe(1);
  expect(commands).toEqual(['brinekeep/command/acknowledge']);
  // It goes on at its rate, and once it is over the trouble ends.
  clock.advance(1000);
  for (let count = 0; count < 100; count += 1) say('room/ph', '8.1');
  expect(heard('room/ph')).toBe(1050);
  clock.advance(6 * 60_000);
  expect(troubles.text()).toBeUndefined();
});

test('a day of dated readings that waited at the broker is taken for a flood', () => {
  const { intake, say, heard } = setUp();
  const everyFiveSeconds = (24 * 3600) / 5;
  for (let count = 0; count < everyFiveSeconds; count += 1)
    say('room/rack', JSON.stringify({ ph: 8.1, at: new Date(Date.UTC(2026, 2, 9) + count * 5000).toISOString() }));
  expect(heard('room/rack')).toBe(everyFiveSeconds);
  expect(intake.counts['too_many']).toBe(0);
});
