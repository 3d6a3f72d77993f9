import { copyFileSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { createRoomClock } from '#adapters/clock/room-clock.ts';
import type { Commit, Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { createDatedStore } from '#hub/flow/clock/dated-store.ts';
import type { Series } from '#rules/quality/reading.ts';
import { createManualClock, type ManualClock } from '../../../adapters/clock/manual-clock.ts';

const lastStampMs = Date.parse('2026-06-01T12:00:00Z');
const trueStartMs = lastStampMs + 8 * 3_600_000;
const series: Series = { system: 'display', metric: 'temperature', probe: 't' };
const secondMs = 1000;

/** A board whose wall clock shows 1970 until it is set; its hub may be started several times. */
describe('readings of a board that nobody has told the time', () => {
  let dir: string;
  let path: string;
  let open: Store[];

  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'brinekeep-undated-'));
    path = join(dir, 'store.db');
    open = [];
  });
  afterEach(() => {
    for (const store of open) store.close();
    rmSync(dir, { recursive: true, force: true });
  });

  function start(machine: ManualClock, at = path, changed: (store: Store) => Store = (store) => store, most?: number) {
    const clock = createRoomClock(machine);
    const opened = openStore({ path: at, flushMs: 3_600_000, clock });
    open.push(opened);
    clock.begin({ lastStampMs, isAlwaysTrusted: false });
    const told = { dropped: 0, undatable: 0, failed: 0 };
    const { store, counts } = createDatedStore(
      changed(opened),
      clock,
      {
        dropped: (count) => (told.dropped = count),
        undatable: (count) => (told.undatable = count),
        keepFailed: () => (told.failed += 1),
      },
      most === undefined ? {} : { most },
    );
    return {
      ...{ store, counts, told, clock },
      speak(from: number, count: number) {
        for (let n = from; n < from + count; n += 1) {
          machine.advance(secondMs);
          const quality =
            n % 10 === 9 ? { flag: 'fail' as const, raw: 99 + n, why: 'range' } : { flag: 'pass' as const, value: n };
          store.add([{ series, timeMs: clock.nowMs(), quality }]);
        }
      },
      kept: () =>
        store.readings(series, 0, Number.MAX_SAFE_INTEGER).map(({ timeMs, value, flag }) => [timeMs, value, flag]),
    };
  }

  const wanted = (from: number, count: number, firstMs: number) =>
    Array.from({ length: count }, (_, at) => {
      const n = from + at;
      return [firstMs + at * secondMs, n % 10 === 9 ? 99 + n : n, n % 10 === 9 ? 'fail' : 'pass'];
    });

  function setClock(machine: ManualClock, elapsedMs: number): void {
    machine.step(trueStartMs + elapsedMs - machine.nowMs());
  }

  /** What a power cut at this moment leaves. */
  function copyAsItLies(): string {
    const copy = join(dir, 'copy.db');
    for (const suffix of ['', '-wal']) if (existsSync(path + suffix)) copyFileSync(path + suffix, copy + suffix);
    return copy;
  }

  test('a hub that is updated before the clock is set loses them, or dates them by the pause', async () => {
    const machine = createManualClock(0);
    const first = start(machine);
    first.speak(0, 30);
    first.store.close();
    machine.advance(60 * secondMs);
    const second = start(machine);
    second.speak(30, 30);
    expect(second.counts()).toEqual({ held: 60, dropped: 0 });
    second.store.close();
    machine.advance(60 * secondMs);
    const third = start(machine);
    third.speak(60, 5);
    setClock(machine, 185 * secondMs);
    third.clock.nowMs();
    await new Promise((resolve) => setImmediate(resolve));
    expect(third.kept()).toEqual([
      ...wanted(0, 30, trueStartMs + secondMs),
      ...wanted(30, 30, trueStartMs + 91 * secondMs),
      ...wanted(60, 5, trueStartMs + 181 * secondMs),
    ]);
    expect(third.counts()).toEqual({ held: 0, dropped: 0 });
    third.store.close();
    const fourth = start(machine);
    expect(fourth.kept()).toHaveLength(65);
    expect(fourth.store.journal({ kind: 'note' })).toEqual([]);
  });

  test('the clock is right at the next start of the hub, and what waited stays away or has wrong times', () => {
    const machine = createManualClock(0);
    const first = start(machine);
    first.speak(0, 30);
    first.store.close();
    machine.advance(60 * secondMs);
    setClock(machine, 90 * secondMs);
    expect(start(machine).kept()).toEqual(wanted(0, 30, trueStartMs + secondMs));
  });

  test('a power cut takes what was flushed, or gives it times that look sure', () => {
    const first = start(createManualClock(0));
    first.speak(0, 25);
    first.store.flush();
    const copy = copyAsItLies();
    const next = start(createManualClock(trueStartMs), copy);
    // Nobody can know how long the machine was off: by the hub's own count, which is never ahead of the truth.
    expect(next.kept()).toEqual(wanted(0, 25, lastStampMs + secondMs));
    expect(next.told.undatable).toBe(25);
    const notes = next.store.journal({ kind: 'note' }).map(({ body }) => body);
    expect(notes).toEqual([expect.objectContaining({ event: 'readings_undated', readings: 25 })]);
    next.store.close();
    const again = start(createManualClock(trueStartMs), copy);
    expect(again.kept()).toHaveLength(25);
    expect(again.store.journal({ kind: 'note' })).toHaveLength(1);
  });

  test('a power cut between dating them and forgetting that they waited doubles or misdates them', async () => {
    const machine = createManualClock(0);
    let isCut = false;
    const first = start(machine, path, (store) => ({
      ...store,
      flush: () => store.flush(),
      commit(commit: Commit) {
        if (isCut && commit.documents?.some(({ body }) => body === '')) throw new Error('the power is cut here');
        return store.commit(commit);
      },
    }));
    first.speak(0, 25);
    first.store.flush();
    isCut = true;
    setClock(machine, 25 * secondMs);
    first.clock.nowMs();
    await new Promise((resolve) => setImmediate(resolve));
    expect(first.told.failed).toBeGreaterThan(0);
    const copy = copyAsItLies();
    const next = start(createManualClock(trueStartMs + 3_600_000), copy);
    expect(next.kept()).toEqual(wanted(0, 25, trueStartMs + secondMs));
    expect(next.told.undatable).toBe(0);
  });

  test('a board that is never told the time fills its disk with them', () => {
    const machine = createManualClock(0);
    const first = start(machine, path, undefined, 100);
    for (let n = 0; n < 300; n += 1) {
      first.speak(n, 1);
      first.store.flush();
    }
    expect(first.told.dropped).toBeGreaterThanOrEqual(200);
    first.store.close();
    const next = start(machine, path, undefined, 100);
    const { held } = next.counts();
    expect(held).toBe(300 - first.told.dropped);
    expect(held).toBeLessThanOrEqual(100);
    let pages = 0;
    while (next.store.document(`undated-${pages}`) !== undefined) pages += 1;
    expect(pages).toBeLessThanOrEqual(500);
  });
});
