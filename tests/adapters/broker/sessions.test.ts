import { expect, test } from 'vitest';
import { createSessions, shareOf } from '#adapters/broker/sessions.ts';

const dayMs = 86_400_000;

test('one user of several takes the room of all others, or the only one gets less than all', () => {
  expect(shareOf(200, 1)).toBe(200);
  expect(shareOf(200, 3)).toBe(180);
  expect(shareOf(4, 4)).toBe(1);
  const sessions = createSessions(
    100,
    () => shareOf(100, 2),
    () => 0,
  );
  const taken = Array.from({ length: 100 }, (_, n) => sessions.take(`a${n}`, 'a')).filter(Boolean);
  expect(taken).toHaveLength(90);
  expect(sessions.take('a0', 'a')).toBe(true);
  expect(sessions.take('b', 'b')).toBe(true);
});

test('a session that nobody uses stays until the next restart, or that of a connected phone ends', () => {
  let nowMs = 0;
  const sessions = createSessions(
    10,
    () => 10,
    () => nowMs,
  );
  sessions.take('left', 'ana');
  sessions.take('here', 'ana');
  nowMs = 7 * dayMs + 1;
  expect(sessions.expired((id) => id === 'here')).toEqual(['left']);
});

test('a session does not outlive a restart, or that of a user who is gone does', () => {
  const first = createSessions(
    10,
    () => 10,
    () => 1000,
  );
  first.take('app', 'ana');
  first.take('old', 'ben');
  const filters = [{ topic: 'brinekeep/phone', qos: 1 as const }];
  const text = first.text(new Map([['app', filters]]));
  const second = createSessions(
    10,
    () => 10,
    () => 2000,
  );
  expect(second.restored(text, (user) => user === 'ana')).toEqual([{ id: 'app', user: 'ana', seenMs: 1000, filters }]);
  expect(second.size()).toBe(1);
  for (const damaged of [undefined, '', '{', '[{"id":1}]'])
    expect(
      createSessions(
        10,
        () => 10,
        () => 0,
      ).restored(damaged, () => true),
    ).toEqual([]);
});
