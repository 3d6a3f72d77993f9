import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { startRounds } from '#hub/judgement/estimate/rounds.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

const systems = ['one', 'two', 'three', 'four'];

test('a hub of many systems stands still while all are estimated at once', () => {
  const visited: { system: string; turn: number }[] = [];
  let turn = 0;
  const stop = startRounds(systems, 4000, (system) => visited.push({ system, turn }));
  expect(visited).toEqual([]);
  for (; turn < 40; turn += 1) vi.advanceTimersToNextTimer();
  stop();
  const turns = visited.map((visit) => visit.turn);
  expect(new Set(turns).size).toBe(turns.length);
  expect(visited.slice(0, 4).map(({ system }) => system)).toEqual(systems);
});

test('a system is left out of the hourly round, or goes on after the hub was stopped', () => {
  const visits = new Map(systems.map((system) => [system, 0]));
  const stop = startRounds(systems, 4000, (system) => visits.set(system, visits.get(system)! + 1));
  vi.advanceTimersByTime(12_000);
  // Once at the start, then once in each of three rounds.
  expect([...visits.values()]).toEqual([4, 4, 4, 4]);
  stop();
  vi.advanceTimersByTime(12_000);
  expect([...visits.values()]).toEqual([4, 4, 4, 4]);
});
