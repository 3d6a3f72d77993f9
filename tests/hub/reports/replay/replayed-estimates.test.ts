import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { createReplay } from '#hub/reports/replay/replay-engine.ts';
import type { AlarmEvent } from '#rules/bands/alarm-event.ts';
import { scratchRoom } from '../../../servers/hub-process.ts';
import { verbHere } from '../../cli/verb-here.ts';
import { openPaperRoom, paperConfig, startMs } from '../../judgement/estimate/paper-room.ts';

const { dir, remove } = scratchRoom();
afterAll(remove);

const dayMs = 86_400_000;
const hourMs = 3_600_000;

/**
 * Two weeks in which the plan of 0.66 dKH a day (worked out in containers-and-plan.test.ts) meets the demand, then nothing of
 * it arrives for five days, while the container runs low.
 */
const values = Array.from({ length: 19 }, (_, day) =>
  day < 14 ? [8, 8.05, 7.95, 8.02, 7.98][day % 5]! : 8.6 - 0.06 * 10 - 0.66 * (day - 13),
);
const timeOf = (day: number): string => new Date(startMs + day * dayMs).toISOString();
const alkalinity = { kind: 'test', system: 'display', analyte: 'alkalinity', sd: 0.1 } as const;
const refill = { kind: 'refill', system: 'display', stock: 'soda', ml: 2000 } as const;

type Told = { atMs: number; told: string };
const toldOf = (events: readonly AlarmEvent[]): Told[] =>
  events
    .filter(({ state }) => state === 'raised' || state === 'cleared')
    .map(({ timeMs, rule, metric, state }) => ({ atMs: timeMs, told: `${metric} ${rule} ${state}` }));

test('replay raises other alarms of level, demand and dosing than the running hub did', () => {
  const room = openPaperRoom();
  room.entries.refill(refill, room.now());
  for (const value of values) {
    room.entries.test({ ...alkalinity, value, confirmed: true }, room.now());
    room.waitDays(1, 1);
  }
  const live = toldOf(room.events);
  room.close();

  const events: AlarmEvent[] = [];
  const replay = createReplay(paperConfig, (fresh) => void events.push(...fresh));
  replay.enter({ ...refill, time: timeOf(0) });
  for (const [day, value] of values.entries()) replay.enter({ ...alkalinity, value, time: timeOf(day) });
  replay.passTo(startMs + values.length * dayMs);
  const replayed = toldOf(events);

  expect(replayed.map(({ told }) => told)).toEqual(live.map(({ told }) => told));
  for (const rule of ['dosed_not_moved', 'container_low', 'out_of_band'])
    expect(live.map(({ told }) => told).join()).toContain(rule);
  expect(live.map(({ told }) => told).join()).toMatch(/drift|demand_changed/);
  // Both look at what time alone changes once an hour.
  for (const [index, { atMs }] of replayed.entries())
    expect(Math.abs(atMs - live[index]!.atMs)).toBeLessThanOrEqual(hourMs);
});

const config = join(dir, 'room.yaml');
writeFileSync(config, JSON.stringify({ site: { name: 'Invented room' }, systems: paperConfig.systems }));

test('a changed rule on alkalinity cannot be tried on an old diary', async () => {
  const lines = values.map((value, day) => JSON.stringify({ ...alkalinity, value, time: timeOf(day) }));
  const entries = join(dir, 'entries.jsonl');
  writeFileSync(entries, [JSON.stringify({ time: timeOf(0), ...refill }), ...lines, '{"time": "soon"}'].join('\n'));
  const ended = await verbHere(['replay', config, '--entries', entries]);
  expect(ended.err).toContain('entries.jsonl line 21: ');
  expect(ended.code).toBe(1);
  const rules = ended.out
    .trimEnd()
    .split('\n')
    .map((line) => (JSON.parse(line) as { rule: string }).rule);
  expect(rules).toContain('dosed_not_moved');
  expect(rules).toContain('container_low');
});

test('a replay of nothing passes for one without alarms', async () => {
  const ended = await verbHere(['replay', config]);
  expect(ended.code).toBe(2);
  expect(ended.err).toContain('--entries');
});
