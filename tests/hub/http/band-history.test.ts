import { describe, expect, test } from 'vitest';
import type { Commit } from '#adapters/ports/store.ts';
import { createBandHistory } from '#hub/http/views/band-history.ts';
import { paperConfig } from '../judgement/estimate/paper-room.ts';

const dayMs = 86_400_000;
const startMs = Date.UTC(2026, 0, 5);

/** Only what is committed survives, as on a disk. */
function disk(first?: string) {
  let body = first;
  return {
    document: () => body,
    commit: ({ documents }: Commit) => {
      body = documents?.[0]?.body ?? body;
      return [];
    },
    body: () => body,
  };
}

function configWith(alkalinity: { low: number; high: number } | undefined) {
  const [system] = paperConfig.systems;
  if (system === undefined) throw new Error('the paper room has no system');
  const { alkalinity: _old, ...others } = system.bands;
  const bands = { ...others, ...(alkalinity === undefined ? {} : { alkalinity }) };
  return { systems: [{ ...system, bands }] };
}

describe('the band as it was', () => {
  test('a band that was changed while the hub stood still is drawn over all the past', () => {
    const store = disk();
    let nowMs = startMs;
    const asked = (config: ReturnType<typeof configWith>) =>
      createBandHistory(config, store, () => nowMs).of('display', 'alkalinity', startMs - dayMs, startMs + 9 * dayMs);
    expect(asked(configWith({ low: 7.5, high: 9 }))).toEqual([
      { from: startMs - dayMs, to: startMs + 9 * dayMs, low: 7.5, high: 9 },
    ]);
    nowMs += 3 * dayMs;
    asked(configWith({ low: 8, high: 9.5 }));
    nowMs += 3 * dayMs;
    expect(asked(configWith(undefined))).toEqual([
      { from: startMs - dayMs, to: startMs + 3 * dayMs, low: 7.5, high: 9 },
      { from: startMs + 3 * dayMs, to: startMs + 6 * dayMs, low: 8, high: 9.5 },
      { from: startMs + 6 * dayMs, to: startMs + 9 * dayMs, low: null, high: null },
    ]);
  });

  test('the same band is noted again at each start', () => {
    const store = disk();
    const config = configWith({ low: 7.5, high: 9 });
    createBandHistory(config, store, () => startMs);
    const first = store.body();
    createBandHistory(config, store, () => startMs + dayMs);
    expect(store.body()).toBe(first);
  });

  test('a record that cannot be read stops the hub, or is written over', () => {
    const store = disk('{"display/alkalinity": [');
    const history = createBandHistory(configWith({ low: 7.5, high: 9 }), store, () => startMs);
    expect(history.of('display', 'alkalinity', startMs, startMs + dayMs)).toEqual([
      { from: startMs, to: startMs + dayMs, low: 7.5, high: 9 },
    ]);
    expect(store.body()).toBe('{"display/alkalinity": [');
  });

  test('a full disk at the start stops the hub, or the change is forgotten', () => {
    const store = disk();
    let isFull = true;
    const full = {
      ...store,
      commit: (commit: Commit) => {
        if (isFull) throw new Error('database or disk is full');
        return store.commit(commit);
      },
    };
    const history = createBandHistory(configWith({ low: 7.5, high: 9 }), full, () => startMs);
    isFull = false;
    history.of('display', 'alkalinity', startMs, startMs + dayMs);
    expect(store.body()).toContain('"low":7.5');
  });
});
