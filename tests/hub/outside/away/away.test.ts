import { expect, test } from 'vitest';
import type { Commit } from '#adapters/ports/store.ts';
import { presenceFrom } from '#hub/flow/clock/presence-stamp.ts';
import { type Absence, absenceLine } from '#hub/outside/away/absence.ts';
import { createDeadMansSwitch } from '#hub/outside/away/dead-mans-switch.ts';
import { createPresence } from '#hub/outside/away/presence.ts';
import { createProgress } from '#hub/outside/away/progress.ts';
import { createManualClock } from '../../../adapters/clock/manual-clock.ts';

const minuteMs = 60_000;
const start = Date.UTC(2026, 2, 10, 2, 10);

/** What stays on disk between two lives. */
function disk() {
  const documents = new Map<string, string>();
  return {
    document: (name: string) => documents.get(name),
    commit(commit: Commit): number[] {
      for (const { name, body } of commit.documents ?? []) documents.set(name, body);
      return [];
    },
    keepSoon(kept: NonNullable<Commit['documents']>): void {
      for (const { name, body } of kept) documents.set(name, body);
    },
  };
}

function life(store: ReturnType<typeof disk>, startMs: number) {
  const clock = createManualClock(startMs);
  const told: Absence[] = [];
  return { clock, told, presence: createPresence(store, clock, (absence) => told.push(absence)) };
}

test('the hub was away for half an hour at night and nobody is told', () => {
  const store = disk();
  const first = life(store, start - minuteMs);
  first.presence.mark();
  first.clock.advance(minuteMs);
  first.presence.mark();
  expect(first.told).toEqual([]);
  const second = life(store, start + 30 * minuteMs);
  second.presence.mark();
  expect(second.told).toEqual([{ fromMs: start, toMs: start + 30 * minuteMs, isOrderly: false }]);
  second.clock.advance(minuteMs);
  second.presence.mark();
  expect(second.told).toHaveLength(1);
  const [absence] = second.told;
  if (absence === undefined) return;
  expect(absenceLine(absence, { probes: 12, systems: 3, standing: 2 }, second.clock.nowMs(), 'UTC')).toBe(
    'The hub itself was away from 02:10 to 02:40 (30 min): it was cut off, power or fault. Nobody watched 12 probes in 3 systems. 2 alarms stood before.',
  );
  expect(absenceLine(absence, { probes: 1, systems: 1, standing: 0 }, second.clock.nowMs(), 'Asia/Kolkata')).toMatch(
    /from 07:40 to 08:10 .* 1 probe in 1 system\.$/,
  );
});

test('a short restart rings, or a stop on purpose passes for a power cut', () => {
  const store = disk();
  const first = life(store, start);
  first.presence.mark();
  first.presence.markStop();
  const second = life(store, start + 2 * minuteMs);
  second.presence.mark();
  expect(second.told).toEqual([]);
  second.presence.markStop();
  const third = life(store, start + 60 * minuteMs);
  third.presence.mark();
  expect(third.told).toMatchObject([{ isOrderly: true }]);
});

test('a board that wakes in the past loses the trace, or takes the jump of its clock for an absence', () => {
  const store = disk();
  life(store, start).presence.mark();
  const second = life(store, Date.UTC(2020, 0, 1));
  second.presence.mark();
  second.clock.advance(2 * minuteMs);
  second.presence.mark();
  expect(second.told).toEqual([]);
  expect(presenceFrom(store.document('presence'))?.aliveMs).toBe(start);
  second.clock.step(start + 30 * minuteMs - second.clock.nowMs());
  second.presence.mark();
  // Two minutes of the new life have passed by the clock that nobody sets.
  expect(second.told).toEqual([{ fromMs: start, toMs: start + 28 * minuteMs, isOrderly: false }]);
  second.clock.advance(minuteMs);
  second.clock.step(24 * 60 * minuteMs);
  second.presence.mark();
  expect(second.told).toHaveLength(1);
});

test('a process that stood still for an hour says nothing', () => {
  const { clock, presence, told } = life(disk(), start);
  presence.mark();
  clock.advance(60 * minuteMs);
  presence.mark();
  expect(told).toEqual([{ fromMs: start, toMs: start + 60 * minuteMs, isOrderly: false }]);
});

test('a broken trace keeps the hub from starting', () => {
  for (const body of ['', 'null', '[]', '{"aliveMs":"x"}', '7']) expect(presenceFrom(body)).toBeUndefined();
});

test('signs of life go on although no reading gets through, or stop because no probe speaks', () => {
  const clock = createManualClock(start);
  let fed = 0;
  const alive = () => {
    fed += 1;
  };
  const beats: string[] = [];
  const progress = createProgress(() => clock.monotonicMs());
  const lifeSigns = createDeadMansSwitch({
    ...{ clock, progress },
    topic: 'brinekeep/heartbeat',
    serviceManager: { watchdogMs: 30_000, ready() {}, stopping() {}, alive },
    link: () => ({
      state: () => ({ name: 'mqtt', isUp: true, counts: {} }),
      publish: async (topic, payload, { retain }) => void beats.push(`${topic} ${retain} ${payload.toString()}`),
    }),
    facts: () => ({ since: '2026-06-01T00:00:00.000Z', readings: 1, status: 'ok', causes: [] }),
  });
  /** Two minutes of ticks, as the hub makes them. */
  function pass(tick: () => void): { fed: number; beats: number } {
    const before = { fed, beats: beats.length };
    for (let second = 5; second <= 120; second += 5) {
      clock.advance(5_000);
      tick();
      lifeSigns.tick();
      if (second % 60 === 0) lifeSigns.beat();
    }
    return { fed: fed - before.fed, beats: beats.length - before.beats };
  }
  const facts = '"since":"2026-06-01T00:00:00.000Z","readings":1,"status":"ok","causes":[]';
  // No probe speaks, and the rules run: a start anew would mend nothing.
  expect(pass(() => progress.judged())).toEqual({ fed: 12, beats: 2 });
  expect(beats[0]).toBe(`brinekeep/heartbeat true {"time":"2026-03-10T02:11:00.000Z",${facts}}`);
  // One probe in ten breaks its stage.
  let tick = 0;
  const oneInTen = () => {
    progress.judged();
    progress.entered();
    tick += 1;
    if (tick % 10 !== 0) progress.left();
  };
  expect(pass(oneInTen)).toEqual({ fed: 12, beats: 2 });
  // Nothing gets through any more: it is fed for the minute that is given, and no longer.
  const broken = pass(() => {
    progress.judged();
    progress.entered();
  });
  expect(broken.fed).toBeLessThanOrEqual(7);
  expect(pass(() => progress.entered())).toEqual({ fed: 0, beats: 0 });
  progress.left();
  // The rules hang while the timers run on.
  expect(pass(() => {})).toEqual({ fed: 0, beats: 0 });
});
