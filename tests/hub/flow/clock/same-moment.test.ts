import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { createRoomClock } from '#adapters/clock/room-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { createDatedStore, type DatedStore } from '#hub/flow/clock/dated-store.ts';
import type { Series } from '#rules/quality/reading.ts';
import { createManualClock, type ManualClock } from '../../../adapters/clock/manual-clock.ts';

const startMs = Date.parse('2026-06-01T12:00:00Z');
const series: Series = { system: 'display', metric: 'temperature', probe: 't' };
const other: Series = { ...series, probe: 'u' };

describe('readings that arrive at the same moment', () => {
  let dir: string;
  let machine: ManualClock;
  let dated: DatedStore;
  let store: Store;

  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'brinekeep-moment-'));
    machine = createManualClock(startMs);
    const clock = createRoomClock(machine);
    store = openStore({ path: join(dir, 'store.db'), flushMs: 3_600_000, clock });
    clock.begin({ lastStampMs: undefined, isAlwaysTrusted: true });
    dated = createDatedStore(store, clock, { dropped: () => {}, undatable: () => {}, keepFailed: () => {} });
  });
  afterEach(() => {
    store.close();
    rmSync(dir, { recursive: true, force: true });
  });

  function take(value: number, of = series): number {
    const timeMs = dated.freeMs(of, machine.nowMs());
    dated.store.add([{ series: of, timeMs, quality: { flag: 'pass', value } }]);
    return timeMs;
  }
  const kept = () => store.readings(series, 0, Number.MAX_SAFE_INTEGER).map(({ timeMs, value }) => [timeMs, value]);

  test('lines that a busy hub reads in one go are kept as one reading', () => {
    for (const value of [25.1, 25.2, 25.3]) take(value);
    take(26, other);
    machine.advance(1);
    take(25.4);
    machine.advance(10);
    take(25.5);
    expect(kept()).toEqual([
      [startMs, 25.1],
      [startMs + 1, 25.2],
      [startMs + 2, 25.3],
      [startMs + 3, 25.4],
      [startMs + 11, 25.5],
    ]);
    expect(store.latest(other)?.timeMs).toBe(startMs);
  });

  test('a probe gone wild is dated ever further ahead of the clock', () => {
    const times = Array.from({ length: 5_000 }, () => take(25));
    expect(Math.max(...times)).toBeLessThanOrEqual(startMs + 1_000);
  });
});
