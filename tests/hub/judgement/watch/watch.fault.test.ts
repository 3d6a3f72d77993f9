import { expect, test } from 'vitest';
import { createMqttNotifier } from '#adapters/notify/mqtt/mqtt-notifier.ts';
import type { Commit, OutboxItem } from '#adapters/ports/store.ts';
import { lineNotice, stateNotice, waysTo } from '#hub/judgement/notices/notice-items.ts';
import { createWatch } from '#hub/judgement/watch/watch.ts';
import { topicsBelow } from '#hub/model/config/topics.ts';
import { watchedRoomFromConfig } from '#hub/model/config/watched-room.ts';
import { rulesForRoom } from '#rules/bands/room.ts';
import { configOf, roomText } from '../../../servers/hub-process.ts';
import { usualSettings } from '../notices/alarm-script.ts';

const start = Date.UTC(2026, 2, 10, 12, 0);

const bands = { temperature: { low: 25, high: 26.5 }, ph: { low: 7.9, high: 8.5 } };
const systems = [{ id: 'display', name: 'Display tank', volume_l: 420, bands }];

/** The first line about an alarm; a repeat or a call to somebody else has another key. */
const isFirstNotice = (key: string) => /^phone:display\/.*#raised#/.test(key);

/** A watch on an invented room over a store that can refuse; its disk outlives it. `soon` says when a turn ends. */
function room(disk: Map<string, string>, soon: (work: () => void) => void = (work) => work()) {
  const commits: Commit[] = [];
  const unsent: OutboxItem[] = [];
  /** How many commits there were at each announcement. */
  const announced: number[] = [];
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
  const ways = waysTo([createMqttNotifier(topicsBelow('brinekeep'), () => undefined)]);
  const rules = rulesForRoom(watchedRoomFromConfig(configOf(roomText('/nowhere', { systems }))));
  const watch = createWatch(store, rules, usualSettings, {
    stateItems: (event) => ways(stateNotice(event, 'Display tank')),
    lineItems: (message) => ways(lineNotice(message)),
    textOf: ({ message }) => `Display tank: ${message}`,
    canReach: () => state.isLinkUp,
    wakeAt: () => {},
    soon,
    announced: () => void announced.push(commits.length),
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
  return { watch, water, state, commits, announced, unsent, outbox };
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

test('alarms of one turn are announced before the disk has them, wait for it one by one, or are lost to what a person does', () => {
  const turns: (() => void)[] = [];
  const endTurn = () => {
    for (const work of turns.splice(0)) work();
  };
  const { watch, water, commits, announced, outbox } = room(new Map(), (work) => void turns.push(work));
  const raisedOf = (commit?: Commit) =>
    (commit?.entries ?? []).filter(({ body }) => body['state'] === 'raised').map(({ body }) => body['metric']);
  const ph = (value: number, minute: number) => {
    const timeMs = start + minute * 60_000;
    const series = { system: 'display', metric: 'ph', probe: 'ph' } as const;
    watch.offer({ is: 'reading', reading: { series, timeMs, quality: { flag: 'pass', value } } }, timeMs);
  };
  water(25.6, 0, 10);
  endTurn();
  const together = (temperature_C: number, from: number, to: number) => {
    for (let minute = from; minute < to; minute += 1) {
      ph(9.1 + (minute % 3) / 100, minute);
      water(temperature_C, minute, 1);
    }
  };
  together(27.8, 10, 30);
  // All of that was one turn, and nothing is on disk or said.
  expect({ turns: turns.length, commits: commits.length, announced }).toEqual({ turns: 1, commits: 0, announced: [] });
  endTurn();
  expect(commits.map((commit) => raisedOf(commit).sort())).toEqual([['ph', 'temperature']]);
  expect(announced).toEqual([1]);
  expect(outbox().filter(isFirstNotice)).toHaveLength(2);

  // It clears, and before the turn has ended somebody acknowledges the other one: both are on disk when that returns.
  together(25.6, 30, 90);
  const other = watch.standing(start + 90 * 60_000).find(({ metric }) => metric === 'ph');
  const by = 'Ines (invented)';
  watch.offer({ is: 'command', command: { do: 'acknowledge', alarm: other?.id ?? '', by } }, start + 90 * 60_000);
  const states = (commits[1]?.entries ?? []).map(({ body }) => `${body['metric']} ${body['state']}`);
  expect(states).toEqual(['temperature cleared', 'ph acknowledged']);
  endTurn();
  expect(commits).toHaveLength(2);
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
