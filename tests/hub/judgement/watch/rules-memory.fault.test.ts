import { expect, test } from 'vitest';
import type { Commit } from '#adapters/ports/store.ts';
import { createNoticesMemory } from '#hub/judgement/watch/notices-memory.ts';
import { createRulesMemory } from '#hub/judgement/watch/rules-memory.ts';
import { createWatch } from '#hub/judgement/watch/watch.ts';
import { watchedRoomFromConfig } from '#hub/model/config/watched-room.ts';
import { alarmsOf, type RoomState, rulesForRoom } from '#rules/bands/room.ts';
import { configOf, roomText } from '../../../servers/hub-process.ts';
import { usualSettings } from '../notices/alarm-script.ts';

const start = Date.UTC(2026, 2, 10, 12, 0);
const minuteMs = 60_000;
const tanks = ['display', 'frag', 'fallow'];

const rules = rulesForRoom(
  watchedRoomFromConfig(
    configOf(
      roomText('/nowhere', {
        systems: tanks.map((id) => ({
          ...{ id, name: `Tank ${id}`, volume_l: 400, bands: { temperature: { low: 25, high: 26.5 } } },
        })),
        probes: tanks.map((id) => ({
          ...{ id: `t-${id}`, system: id, metric: 'temperature', every_seconds: 10, mqtt: { topic: `tank/${id}` } },
        })),
      }),
    ),
  ),
);

/** A watch over what is on disk and what waits for the next readings. */
function life(disk: Map<string, string>) {
  const commits: Commit[] = [];
  const soon: string[][] = [];
  const put = (documents: Commit['documents'] = []) => {
    for (const { name, body } of documents) disk.set(name, body);
  };
  const store = {
    document: (name: string) => disk.get(name),
    commit(commit: Commit): number[] {
      commits.push(commit);
      put(commit.documents);
      return [];
    },
    keepSoon(documents: NonNullable<Commit['documents']>): void {
      soon.push(documents.map(({ name }) => name));
      put(documents);
    },
  };
  const watch = createWatch(store, rules, usualSettings, {
    stateItems: (event) => [{ destination: 'mqtt', key: `state:${event.alarm}#${event.state}`, payload: '' }],
    lineItems: (message) => [{ destination: 'mqtt', key: `phone:${message.key}`, payload: message.line }],
    textOf: ({ message }) => message,
    canReach: () => true,
    wakeAt: () => {},
    soon: (work) => work(),
    announced: () => {},
    unstored: () => {},
  });
  /** A reading each ten seconds of each of these tanks. */
  function water(temperatures: Record<string, number>, fromMinute: number, minutes: number): void {
    for (let second = 0; second < minutes * 60; second += 10) {
      const timeMs = start + fromMinute * minuteMs + second * 1000;
      for (const [system, temperature_C] of Object.entries(temperatures)) {
        const series = { system, metric: 'temperature', probe: `t-${system}` } as const;
        const value = temperature_C + (second % 30) / 1000;
        watch.offer({ is: 'reading', reading: { series, timeMs, quality: { flag: 'pass', value } } }, timeMs);
      }
      watch.offer({ is: 'time' }, timeMs);
      if (second % 60 === 0) watch.keep(timeMs);
    }
  }
  const named = (commit: Commit) => (commit.documents ?? []).map(({ name }) => name).sort();
  return { watch, water, commits, soon, named };
}

/** But for the last value, which is that of the last reading. */
const states = ({ watch }: ReturnType<typeof life>, minute: number) =>
  watch
    .standing(start + minute * minuteMs)
    .map(({ id, state, sinceMs, occurrence }) => ({ id, state, sinceMs, occurrence }));

const calm = { display: 25.6, frag: 25.6, fallow: 25.6 };

test('an alarm of one tank is stored without the state that caused it, or with that of the whole farm', () => {
  const { water, commits, named } = life(new Map());
  water(calm, 0, 20);
  water({ ...calm, frag: 27.8 }, 20, 20);
  const raised = commits.filter(({ entries }) => entries?.some(({ body }) => body['state'] === 'raised'));
  expect(raised.map(named)).toEqual([['notices-since', 'rules-since:frag', 'rules-state']]);
});

test('a power cut right after an event forgets the alarm, or what was done about it', () => {
  const disk = new Map<string, string>();
  const first = life(disk);
  first.water(calm, 0, 20);
  first.water({ ...calm, frag: 27.8 }, 20, 20);
  const alarm = first.watch.standing(start + 40 * minuteMs)[0]!.id;
  first.watch.offer({ is: 'command', command: { do: 'acknowledge', alarm, by: 'phone' } }, start + 40 * minuteMs);
  const second = life(new Map(disk));
  expect(states(second, 40)).toEqual(states(first, 40));
  second.water({ ...calm, frag: 27.8 }, 41, 20);
  expect(second.commits.flatMap(({ entries }) => entries ?? [])).toEqual([]);
});

test('alarms stored since an earlier edition are put into a later one', () => {
  const disk = new Map<string, string>();
  const first = life(disk);
  first.water(calm, 0, 20);
  first.water({ ...calm, frag: 27.8 }, 20, 20);
  const old = disk.get('rules-since:frag')!;
  first.water(calm, 40, 60);
  const second = life(new Map([...disk, ['rules-since:frag', old]]));
  expect(states(second, 100)).toEqual(states(first, 100));
});

test('after a part that was lost, alarms stored before it are put into the next one', () => {
  const disk = new Map<string, string>();
  const first = life(disk);
  first.water(calm, 0, 20);
  first.water({ ...calm, frag: 27.8 }, 20, 20);
  const edition = (JSON.parse(disk.get('rules-state:frag')!) as { edition: number }).edition;
  expect((JSON.parse(disk.get('rules-since:frag')!) as { after: number }).after).toBe(edition);
  // Damaged on disk: the store then has no such document.
  disk.delete('rules-state:frag');
  const second = life(disk);
  let editions = 0;
  for (let minute = 41; editions < edition + 2 && minute < 400; minute += 20) {
    second.water(calm, minute, 20);
    const stored = JSON.parse(disk.get('rules-state:frag')!) as { edition: number };
    expect(stored.edition).toBeGreaterThan(edition);
    editions += 1;
  }
});

test('a quiet tank is written every minute, or is never written', () => {
  const { water, soon } = life(new Map());
  water(calm, 0, 120);
  for (const tank of tanks) {
    const times = soon.filter((names) => names.includes(`rules-state:${tank}`)).length;
    expect(times, tank).toBeGreaterThanOrEqual(6);
    expect(times, tank).toBeLessThanOrEqual(12);
  }
  expect(soon.filter((names) => names.includes('rules-state')).length).toBeGreaterThan(110);
});

test('a tank that has begun to warm has to begin anew after a power cut', () => {
  const disk = new Map<string, string>();
  const first = life(disk);
  first.water(calm, 0, 31);
  first.water({ ...calm, display: 27.8 }, 31, 4);
  const restored = createRulesMemory({ document: (name) => disk.get(name) }).restored();
  const series = restored.series.find(({ system }) => system === 'display');
  expect(series?.alarms.some((alarm) => alarm !== null && alarm.abnormalSinceMs !== null)).toBe(true);
});

test('a power cut makes a silent probe of one whose state was some minutes old', () => {
  const disk = new Map<string, string>();
  life(disk).water(calm, 0, 34);
  const second = life(disk);
  second.watch.offer({ is: 'time' }, start + 35 * minuteMs);
  second.water(calm, 36, 5);
  expect(second.commits.flatMap(({ entries }) => entries ?? [])).toEqual([]);
});

test('a probe that died is not missed after a power cut', () => {
  const disk = new Map<string, string>();
  life(disk).water(calm, 0, 34);
  const second = life(disk);
  second.water({ display: 25.6, frag: 25.6 }, 36, 20);
  const raised = second.commits.flatMap(({ entries }) => entries ?? []).map(({ body }) => body['alarm']);
  expect(raised).toEqual(['fallow/temperature/silent_probe']);
});

test('the state of an earlier hub, in one piece, is forgotten or half replaced', () => {
  const disk = new Map<string, string>();
  const first = life(disk);
  first.water(calm, 0, 20);
  first.water({ ...calm, frag: 27.8 }, 20, 20);
  first.watch.keepAll(start + 40 * minuteMs);
  const whole = createRulesMemory({ document: (name) => disk.get(name) }).restored();
  const earlier = new Map([
    ['rules-state', JSON.stringify(whole)],
    ['notices-state', JSON.stringify(createNoticesMemory({ document: (name) => disk.get(name) }).restored())],
  ]);
  const second = life(earlier);
  expect(second.watch.standing(start + 40 * minuteMs)).toEqual(first.watch.standing(start + 40 * minuteMs));
  second.watch.keep(start + 40 * minuteMs);
  expect(second.commits.map(second.named)).toEqual([
    ['notices-state', 'rules-state', 'rules-state:display', 'rules-state:fallow', 'rules-state:frag'],
  ]);
  expect(second.commits[0]?.outbox).toEqual([]);
});

test('parting the state and joining it changes what the rules know', () => {
  const disk = new Map<string, string>();
  const { water, watch } = life(disk);
  water({ ...calm, frag: 27.8 }, 0, 30);
  watch.offer({ is: 'test', system: 'frag', analyte: 'alkalinity', value: 8, timeMs: start }, start + 30 * minuteMs);
  watch.offer({ is: 'edge', name: 'mqtt', isUp: false, detail: 'refused', probes: ['t-frag'] }, start + 30 * minuteMs);
  watch.keepAll(start + 30 * minuteMs);
  const restore = (): RoomState => createRulesMemory({ document: (name) => disk.get(name) }).restored();
  const once = restore();
  expect(once.series.map(({ system }) => system).sort()).toEqual([...tanks].sort());
  expect(once.analytes.map(({ system, metric }) => `${system}/${metric}`)).toEqual(['frag/alkalinity']);
  expect(once.edges.map(({ name }) => name)).toEqual(['mqtt']);
  life(disk).watch.keepAll(start + 30 * minuteMs);
  expect(restore()).toEqual(once);
  expect(alarmsOf(rules, once, start + 30 * minuteMs)).toEqual(watch.standing(start + 30 * minuteMs));
});
