import { expect, test } from 'vitest';
import { createBackoff } from '#adapters/clock/backoff.ts';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { createManualClock } from './manual-clock.ts';

test('the machine’s clock tells the time of day, and its monotonic one never runs back', () => {
  expect(Math.abs(systemClock.nowMs() - Date.now())).toBeLessThan(60_000);
  const first = systemClock.monotonicMs();
  for (let turn = 0; turn < 1000; turn += 1) expect(systemClock.monotonicMs()).toBeGreaterThanOrEqual(first);
});

test('a set wall clock does not move the monotonic one', () => {
  const clock = createManualClock(1000);
  clock.advance(50);
  clock.step(-500);
  expect([clock.nowMs(), clock.monotonicMs()]).toEqual([550, 50]);
  expect(() => clock.advance(-1)).toThrow(RangeError);
});

test('pauses double up to the limit, stay within their upper half, and start over after a success', () => {
  const longest = createBackoff({ minMs: 1000, maxMs: 60_000 }, () => 1);
  expect(Array.from({ length: 8 }, () => longest.nextMs())).toEqual([
    1000, 2000, 4000, 8000, 16_000, 32_000, 60_000, 60_000,
  ]);
  longest.reset();
  expect(longest.nextMs()).toBe(1000);
  const shortest = createBackoff({ minMs: 1000, maxMs: 60_000 }, () => 0);
  expect([shortest.nextMs(), shortest.nextMs()]).toEqual([500, 1000]);
});

test('two hubs that lost the same broker do not come back in the same instant', () => {
  const pauses = new Set(Array.from({ length: 50 }, () => createBackoff({ minMs: 1000, maxMs: 60_000 }).nextMs()));
  expect(pauses.size).toBeGreaterThan(10);
});
