import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import type { Clock } from '#adapters/ports/edge.ts';
import type { Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import type { StoreFault, StoreOptions } from '#adapters/sqlite/store-options.ts';

/** A folder that goes away with the test. */
export function scratchFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'brinekeep-store-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** A clock that moves only when the test says so. */
export function heldClock(startMs = Date.UTC(2026, 0, 5, 12)): Clock & { forward(ms: number): void } {
  let nowMs = startMs;
  return {
    nowMs: () => nowMs,
    monotonicMs: () => nowMs,
    forward: (ms) => {
      nowMs += ms;
    },
  };
}

export type OpenedStore = Store & { faults: StoreFault[]; path: string };

/** A store with a timer that never comes, closed with the test, and the faults it told of. */
export function openScratch(options: Partial<StoreOptions> & { path: string }): OpenedStore {
  const faults: StoreFault[] = [];
  const store = openStore({
    flushMs: 3_600_000,
    clock: heldClock(),
    onFault: (fault) => faults.push(fault),
    ...options,
  });
  onTestFinished(() => store.close());
  return Object.assign(store, { faults, path: options.path });
}
