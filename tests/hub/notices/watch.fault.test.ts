import { expect, test } from 'vitest';
import type { Commit, OutboxItem } from '#adapters/ports/store.ts';
import { watchedRoomFromConfig } from '#hub/config/watched-room.ts';
import { lineItem, stateItem } from '#hub/notices/notice-items.ts';
import { topicsBelow } from '#hub/notices/topics.ts';
import { createWatch } from '#hub/room/watch.ts';
import { rulesForRoom } from '#rules/bands/room.ts';
import { configOf, roomText } from '../../servers/hub-process.ts';
import { usualSettings } from './alarm-script.ts';

const start = Date.UTC(2026, 2, 10, 12, 0);

/** The first line about an alarm; a repeat or a call to somebody else has another key. */
const isFirstNotice = (key: string) => /^phone:display\/.*#raised#/.test(key);

/** A watch on an invented room over a store that can refuse; its disk outlives it. */
function room(disk: Map<string, string>) {
  const commits: Commit[] = [];
  const unsent: OutboxItem[] = [];
  const state = { isFull: false, isLinkUp: true };
  const store = {
    document: (name: string) => disk.get(name),
    commit(commit: Commit): number[] {
      if (state.isFull) throw new Error('disk full');
      commits.push(commit);
      for (const { name, body } of commit.documents ?? []) disk.set(name, body);
      return [];
    },
    keepSoon(documents: NonNullable<Commit['documents']>): void {
      if (state.isFull) return;
      for (const { name, body } of documents) disk.set(name, body);
    },
  };
  const topics = topicsBelow('brinekeep');
  const rules = rulesForRoom(watchedRoomFromConfig(configOf(roomText('/nowhere'))));
  const watch = createWatch(store, rules, usualSettings, {
    stateItem: (event) => stateItem(event, 'Display tank', topics),
    lineItem: (message) => lineItem(message, topics),
    textOf: ({ message }) => `Display tank: ${message}`,
    canReach: () => state.isLinkUp,
    wakeAt: () => {},
    announced: () => {},
    unstored(items, _error, lost) {
      if (state.isLinkUp) unsent.push(...items);
      else items.forEach(lost);
    },
  });
  /** A minute of water at this temperature every ten seconds, starting at a minute of the script. */
  function water(temperature_C: number, fromMinute: number, minutes: number): void {
    for (let second = 0; second < minutes * 60; second += 10) {
      const timeMs = start + fromMinute * 60_000 + second * 1000;
      const series = { system: 'display', metric: 'temperature', probe: 'temperature' } as const;
      const value = temperature_C + (second % 30) / 1000;
      watch.offer({ is: 'reading', reading: { series, timeMs, quality: { flag: 'pass', value } } }, timeMs);
      watch.offer({ is: 'time' }, timeMs);
    }
  }
  const outbox = () => commits.flatMap((commit) => commit.outbox ?? []).map(({ key }) => key);
  return { watch, water, state, commits, unsent, outbox };
}

test('a full disk silences the alarm, or its record is lost when there is room again', () => {
  const { watch, water, state, commits, unsent, outbox } = room(new Map());
  water(25.6, 0, 10);
  state.isFull = true;
  water(27.8, 10, 20);
  expect(unsent.map(({ key }) => key.split(':')[0])).toContain('phone');
  expect(outbox()).toEqual([]);
  state.isFull = false;
  watch.keep(start + 30 * 60_000);
  const entries = commits.flatMap((commit) => commit.entries ?? []);
  expect(entries.filter(({ body }) => body['state'] === 'raised')).toHaveLength(1);
  // What has gone to the phone already is not sent a second time.
  expect(outbox().filter(isFirstNotice)).toEqual([]);
});

test('a full disk and a broken link together lose the alarm', () => {
  const { watch, water, state, unsent, outbox } = room(new Map());
  water(25.6, 0, 10);
  Object.assign(state, { isFull: true, isLinkUp: false });
  water(27.8, 10, 20);
  expect(unsent).toEqual([]);
  Object.assign(state, { isFull: false, isLinkUp: true });
  watch.keep(start + 30 * 60_000);
  const told = outbox().filter(isFirstNotice);
  expect(told).toHaveLength(1);
});

test('an event and the notice that follows from it are parted by a power cut', () => {
  const disk = new Map<string, string>();
  const first = room(disk);
  first.water(25.6, 0, 10);
  first.water(27.8, 10, 20);
  const together = first.commits.filter((commit) =>
    (commit.entries ?? []).some(({ body }) => body['state'] === 'raised'),
  );
  expect(together).toHaveLength(1);
  expect((together[0]?.outbox ?? []).some(({ key }) => key.startsWith('phone:'))).toBe(true);
  expect((together[0]?.documents ?? []).map(({ name }) => name).sort()).toEqual([
    'notices-state',
    'rules-state',
    'rules-state:display',
  ]);
  // A new life, from the disk alone.
  const second = room(disk);
  second.watch.keep(start + 30 * 60_000);
  second.water(27.8, 30, 10);
  expect(second.outbox().filter(isFirstNotice)).toEqual([]);
  second.water(25.6, 40, 60);
  expect(second.outbox().filter((key) => key.startsWith('phone:') && key.includes('#cleared#'))).toHaveLength(1);
});

test('a notices document that cannot be read keeps the hub from starting, or silences what stands', () => {
  const disk = new Map<string, string>();
  const first = room(disk);
  first.water(25.6, 0, 10);
  first.water(27.8, 10, 20);
  disk.set('notices-state', '{"open":7');
  const second = room(disk);
  second.watch.keep(start + 30 * 60_000);
  expect(second.outbox().filter((key) => key.startsWith('phone:'))).toHaveLength(1);
});
