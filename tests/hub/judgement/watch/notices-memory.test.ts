import { expect, test } from 'vitest';
import { emptyNoticeState, type NoticeState } from '#hub/judgement/notices/notice-state.ts';
import { createNoticesMemory, type NoticesMemory } from '#hub/judgement/watch/notices-memory.ts';

const start = Date.UTC(2026, 2, 10, 12);
const hourMs = 3_600_000;

/** What was heard of each of these alarms. */
function heardOf(occurrences: Record<string, number>): NoticeState {
  const heard = Object.entries(occurrences).map(([alarm, occurrence]) => [
    alarm,
    { occurrence, states: ['raised'] as const, timeMs: start },
  ]);
  return { ...emptyNoticeState(), nowMs: start, heard: Object.fromEntries(heard) as NoticeState['heard'] };
}

function life(disk: Map<string, string>) {
  const memory = createNoticesMemory({ document: (name) => disk.get(name) });
  const restored = memory.restored();
  const keep = ({ documents, stored }: ReturnType<NoticesMemory['of']>): string[] => {
    for (const { name, body } of documents) disk.set(name, body);
    stored();
    return documents.map(({ name }) => name);
  };
  return {
    restored,
    whole: (state: NoticeState, nowMs: number) => keep(memory.due(state, nowMs)),
    decided: (state: NoticeState, nowMs: number) => keep(memory.of(state, nowMs)),
  };
}

test('what was said since the whole was written is forgotten by a restart, or the whole is written for it', () => {
  const disk = new Map<string, string>();
  const first = life(disk);
  const old = heardOf({ warm: 1, salt: 1 });
  expect(first.whole(old, start)).toEqual(['notices-state']);
  // Each thing that was heard is replaced and never changed: an equal one is the same.
  const now = { ...old, heard: { ...old.heard, ...heardOf({ salt: 2, ph: 1 }).heard } };
  expect(first.decided(now, start + 1)).toEqual(['notices-since']);
  expect(JSON.parse(disk.get('notices-since')!).state.heard).not.toHaveProperty('warm');
  expect(life(disk).restored).toEqual(now);
});

test('an alarm that was forgotten comes back with the whole', () => {
  const disk = new Map<string, string>();
  const first = life(disk);
  const old = heardOf({ warm: 1, salt: 1 });
  first.whole(old, start);
  const less = { ...old, heard: { warm: old.heard['warm']! } };
  first.decided(less, start + 1);
  expect(life(disk).restored).toEqual(less);
});

test('what was said since an earlier whole is put into a later one', () => {
  const disk = new Map<string, string>();
  const first = life(disk);
  const old = heardOf({ warm: 1 });
  first.whole(old, start);
  first.decided({ ...old, heard: { ...old.heard, ...heardOf({ salt: 1 }).heard } }, start + 1);
  const later = heardOf({ warm: 3 });
  first.whole(later, start + hourMs);
  expect(life(disk).restored).toEqual(later);
});

test('after a whole that was lost, what was said long before it fits the next one', () => {
  const disk = new Map<string, string>();
  const first = life(disk);
  const old = heardOf({ warm: 1 });
  first.whole(old, start);
  first.decided({ ...old, heard: { ...old.heard, ...heardOf({ salt: 9 }).heard } }, start + 1);
  // Damaged on disk: the store then has no such document.
  disk.delete('notices-state');
  const second = life(disk);
  expect(second.restored).toEqual(emptyNoticeState());
  const next = heardOf({ warm: 2 });
  second.whole(next, start + hourMs);
  expect(life(disk).restored).toEqual(next);
});
