import { execFileSync } from 'node:child_process';
import { mkdirSync, rmSync, statfsSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate as faultsTold } from 'node:timers/promises';
import { describe, expect, it, onTestFinished } from 'vitest';
import type { Store } from '#adapters/ports/store.ts';
import { StoreError } from '#adapters/sqlite/store-error.ts';
import { openScratch, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

const noon = Date.UTC(2026, 0, 5, 12);

/** A real small disk, or nothing where this process may not mount one. */
function smallDisk(): string | undefined {
  const folder = join(scratchFolder(), 'disk');
  mkdirSync(folder);
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=2m', 'tmpfs', folder], { stdio: 'pipe' });
  } catch (error) {
    console.warn(`SKIPPED: no small disk could be mounted (needs root): ${String(error)}`);
    return undefined;
  }
  onTestFinished(() => {
    execFileSync('umount', ['-l', folder]);
  });
  return folder;
}

function fillUp(folder: string): () => void {
  const { bavail, bsize } = statfsSync(folder);
  const ballast = join(folder, 'ballast');
  writeFileSync(ballast, Buffer.alloc(bavail * bsize));
  return () => rmSync(ballast);
}

function failureOf(work: () => unknown): unknown {
  try {
    work();
  } catch (error) {
    return error;
  }
  return undefined;
}

function dose(store: Store, n: number): void {
  // Large enough to need fresh pages soon.
  const body = { n, note: 'x'.repeat(5_000) };
  store.commit({ entries: [{ kind: 'dose', timeMs: n, recordedMs: n, system: 'display', body, key: `k${n}` }] });
}

describe('a full disk', () => {
  it('a dose is called saved that is not, or the hub stays broken after space is made', async ({ skip }) => {
    const disk = smallDisk();
    if (disk === undefined) return skip('needs root to mount a small disk');
    const store = openScratch({ path: join(disk, 'store.db'), bufferLimit: 50, flushEarlyAt: 20 });
    dose(store, 0);
    store.add([passed(temperature, noon, 25)]);
    store.flush();
    const makeSpace = fillUp(disk);

    const confirmed = [0];
    let failure: unknown;
    for (let n = 1; failure === undefined && n < 1_000; n += 1) {
      failure = failureOf(() => dose(store, n));
      if (failure === undefined) confirmed.push(n);
    }
    expect(failure).toBeInstanceOf(StoreError);
    expect((failure as StoreError).code).toBe('STORE_DISK_FULL');
    expect(store.journal({}).map((entry) => entry.body['n'])).toEqual(confirmed);

    for (let k = 1; k <= 120; k += 1) store.add([passed(temperature, noon + k * 1_000, 25 + k / 1_000)]);
    expect((failureOf(() => store.flush()) as StoreError).code).toBe('STORE_DISK_FULL');
    const kinds = async () => {
      await faultsTold();
      return store.faults.map((fault) => fault.kind);
    };
    expect(await kinds()).toEqual(['flush_failed', 'readings_dropped']);
    // The page still shows what is in memory, and that is the newest.
    expect(store.latest(temperature)?.timeMs).toBe(noon + 120_000);

    makeSpace();
    store.flush();
    expect(await kinds()).toEqual(['flush_failed', 'readings_dropped', 'flush_recovered']);
    dose(store, 5_000);
    store.close();
    const again = openScratch({ path: join(disk, 'store.db') });
    await faultsTold();
    expect(again.faults).toEqual([]);
    expect(again.journal({}).map((entry) => entry.body['n'])).toEqual([...confirmed, 5_000]);
    const times = again.readings(temperature, 0, Number.MAX_SAFE_INTEGER).map((reading) => reading.timeMs);
    // The first flushes may still have found a corner; then a gap, as long as was said; then the newest in full.
    const stored = times.length - 51;
    expect(times.slice(-50)).toEqual(Array.from({ length: 50 }, (_, k) => noon + (71 + k) * 1_000));
    expect(times.slice(0, -50)).toEqual(Array.from({ length: stored + 1 }, (_, k) => noon + k * 1_000));
    expect(store.faults.at(-1)?.detail).toContain(`, ${120 - stored - 50} lost`);
    expect(again.summaries(temperature, 'hour', noon, noon + 1)[0]?.count).toBe(times.length);
    again.close();
  });

  it('a card that went read-only is opened as if all were well', ({ skip }) => {
    const disk = smallDisk();
    if (disk === undefined) return skip('needs root to mount a small disk');
    const path = join(disk, 'store.db');
    const store = openScratch({ path });
    dose(store, 1);
    store.close();
    execFileSync('mount', ['-o', 'remount,ro', disk]);
    expect(failureOf(() => openScratch({ path }))).toMatchObject({ code: 'STORE_READ_ONLY' });
    execFileSync('mount', ['-o', 'remount,rw', disk]);
    expect(openScratch({ path }).journal({})).toHaveLength(1);
  });
});
