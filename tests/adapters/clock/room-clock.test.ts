import { expect, test } from 'vitest';
import { createRoomClock } from '#adapters/clock/room-clock.ts';
import type { ClockChange } from '#adapters/ports/room-clock.ts';
import { createManualClock } from './manual-clock.ts';

const lastMs = Date.parse('2026-06-01T12:00:00Z');
const builtMs = Date.parse('2026-01-10T00:00:00Z');
const hourMs = 3_600_000;

/** A room clock over a machine that wakes at `wakesMs`, with a store that ends at `lastMs`. */
function roomAt(wakesMs: number, hint = { isSet: false }, lastStampMs: number | undefined = lastMs) {
  const machine = createManualClock(wakesMs);
  const clock = createRoomClock(machine, { builtMs, isMachineClockSet: () => hint.isSet });
  const changes: ClockChange[] = [];
  clock.onChange((change) => changes.push(change));
  clock.begin({ lastStampMs, isAlwaysTrusted: false });
  return { machine, clock, changes, hint };
}

test('a board that wakes in 1970 dates the room in 1970, or stands still, or believes its clock', () => {
  const { machine, clock, changes } = roomAt(0);
  expect(clock.state()).toMatchObject({ isTrusted: false, why: expect.stringContaining('1970-01-01') });
  expect(clock.nowMs()).toBe(lastMs);
  machine.advance(90_000);
  expect(clock.nowMs()).toBe(lastMs + 90_000);
  machine.step(lastMs + 8 * hourMs - 90_000);
  expect(clock.nowMs()).toBe(lastMs + 8 * hourMs);
  expect(clock.state()).toMatchObject({ isTrusted: true, why: undefined, stepsForward: 0 });
  expect(changes).toEqual([{ kind: 'set', atMs: lastMs + 8 * hourMs, byMs: 8 * hourMs - 90_000 }]);
});

test('a saved clock that is half an hour behind is believed as soon as it has run past the last stamp', () => {
  const { machine, clock } = roomAt(0);
  machine.step(lastMs - hourMs / 2);
  for (let minute = 0; minute < 90; minute += 1) {
    machine.advance(60_000);
    clock.nowMs();
  }
  expect(clock.state().isTrusted).toBe(false);
  expect(clock.nowMs()).toBe(lastMs + 1.5 * hourMs);
  machine.step(5 * hourMs);
  expect(clock.nowMs()).toBe(lastMs + 6 * hourMs);
  expect(clock.state().isTrusted).toBe(true);
});

test('a first start before the build is trusted, and one after it is not', () => {
  expect(roomAt(builtMs - 1, undefined, Number.NEGATIVE_INFINITY).clock.state().isTrusted).toBe(false);
  expect(roomAt(builtMs, undefined, Number.NEGATIVE_INFINITY).clock.state().isTrusted).toBe(true);
});

test('a store that was once dated ahead keeps the hub from ever trusting a clock that is right', () => {
  const hint = { isSet: false };
  const { machine, clock } = roomAt(lastMs - 300 * hourMs, hint);
  expect(clock.state().isTrusted).toBe(false);
  hint.isSet = true;
  machine.advance(5000);
  expect(clock.nowMs()).toBe(lastMs - 300 * hourMs + 5000);
  expect(clock.state().isTrusted).toBe(true);
  const vouched = createRoomClock(createManualClock(0), { builtMs });
  vouched.begin({ lastStampMs: lastMs, isAlwaysTrusted: true });
  expect(vouched.nowMs()).toBe(0);
  expect(vouched.state().isTrusted).toBe(true);
});

test('a step is not noticed, noticed twice, or seen by somebody before the listeners know of it', () => {
  const { machine, clock, changes } = roomAt(lastMs + hourMs);
  clock.nowMs();
  for (const byMs of [3 * hourMs, -3 * hourMs]) {
    machine.advance(1000);
    machine.step(byMs);
    const seen: number[] = [];
    const end = clock.onChange(() => seen.push(changes.length));
    expect(clock.nowMs()).toBe(machine.nowMs());
    end();
    expect(seen).toHaveLength(1);
    machine.advance(1000);
    expect(clock.nowMs()).toBe(machine.nowMs());
  }
  expect(changes.map(({ kind, byMs }) => [kind, byMs])).toEqual([
    ['stepped', 3 * hourMs],
    ['stepped', -3 * hourMs],
  ]);
  expect(clock.state()).toMatchObject({ stepsForward: 1, stepsBack: 1 });
});

test('a correction of a second runs the time of the room back, or is taken for a step', () => {
  const { machine, clock, changes } = roomAt(lastMs + hourMs);
  let before = clock.nowMs();
  machine.step(-1000);
  for (let tick = 0; tick < 30; tick += 1) {
    machine.advance(100);
    const now = clock.nowMs();
    expect(now).toBeGreaterThan(before);
    before = now;
  }
  expect(clock.nowMs()).toBe(machine.nowMs());
  expect(changes).toEqual([]);
});

test('a running hub follows its machine back to 1970', () => {
  const { machine, clock, changes } = roomAt(lastMs + hourMs);
  const startMs = clock.nowMs();
  machine.step(-startMs);
  for (let second = 1; second <= 5; second += 1) {
    machine.advance(1000);
    expect(clock.nowMs()).toBe(startMs + second * 1000);
  }
  expect(changes.map(({ kind }) => kind)).toEqual(['refused']);
  expect(clock.state().why).toContain('1970');
  machine.step(startMs);
  expect(clock.nowMs()).toBe(startMs + 5000);
  expect(clock.state()).toMatchObject({ isTrusted: true, why: undefined, stepsForward: 0, stepsBack: 0 });
});
