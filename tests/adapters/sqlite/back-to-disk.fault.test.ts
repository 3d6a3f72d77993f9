import { execFileSync } from 'node:child_process';
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  statfsSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, onTestFinished, test } from 'vitest';
import { systemClock } from '#adapters/clock/system-clock.ts';
import type { Store } from '#adapters/ports/store.ts';
import { openInAnyCase } from '#adapters/sqlite/open-in-any-case.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import type { StoreFault } from '#adapters/sqlite/store-options.ts';
import { waitUntil } from '../../servers/server-process.ts';

/** A record that could be saved nowhere when the hub started, and a disk that takes it later. */

const isRoot = process.getuid?.() === 0;
const series = { system: 'display', metric: 'temperature', probe: 't' } as const;
const startMs = Date.UTC(2026, 5, 1);

function scratch(): string {
  const dir = mkdtempSync(join(tmpdir(), 'brinekeep-back-'));
  onTestFinished(() => rmSync(dir, { recursive: true, force: true }));
  return dir;
}

/** A real small disk. Needs root. */
function smallDisk(dir: string): string {
  const disk = join(dir, 'disk');
  mkdirSync(disk);
  execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=24m', 'tmpfs', disk], { stdio: 'pipe' });
  onTestFinished(() => void execFileSync('umount', ['-l', disk]));
  return disk;
}

function opened(path: string): { store: Store; faults: StoreFault[] } {
  const faults: StoreFault[] = [];
  const store = openInAnyCase({
    ...{ path, flushMs: 3_600_000, clock: systemClock, tryDiskEveryMs: 20 },
    onFault: (fault) => faults.push(fault),
  });
  onTestFinished(() => store.close());
  return { store, faults };
}

const entry = (n: number, note = '') => ({
  ...{ kind: 'note' as const, timeMs: startMs + n, recordedMs: startMs + n, system: 'display', body: { n, note } },
});
const item = (n: number) => ({ destination: 'mqtt', key: `k${n}`, payload: `p${n}` });
const reading = (n: number) => ({
  series,
  timeMs: startMs + n * 1_000,
  quality: { flag: 'pass' as const, value: 25 + n / 1e4 },
});
const isSaved = (faults: readonly StoreFault[]) => faults.some(({ kind }) => kind === 'saved_again');
const numbersIn = (store: Store) => store.journal({ kind: 'note' }).map(({ body }) => body['n']);
const timesIn = (store: Store) =>
  store.readings(series, 0, Number.MAX_SAFE_INTEGER).map(({ timeMs }) => (timeMs - startMs) / 1_000);

/** What the file has when nobody has it open. */
function found(path: string) {
  const store = openStore({ path, flushMs: 3_600_000, clock: systemClock });
  try {
    const waiting = store.outbox('mqtt', 100).map(({ key }) => key);
    return { notes: numbersIn(store), times: timesIn(store), waiting, rules: store.document('rules') };
  } finally {
    store.close();
  }
}

test('what was watched from memory is gone or there twice when the folder can be used again', async () => {
  const dir = scratch();
  const inTheWay = join(dir, 'data');
  writeFileSync(inTheWay, '');
  const path = join(inTheWay, 'brinekeep.db');
  const { store, faults } = opened(path);
  expect(store.whyUnsaved).toMatch(/belongs to the user|cannot be written to/);
  expect(store.whyUnsaved).toMatch(/goes on saving by itself/);
  expect(store.commit({ entries: [entry(0)], outbox: [item(0), item(1), item(2)] })).toEqual([1]);
  store.acknowledge([store.outbox('mqtt', 1)[0]!.id]);
  store.keepSoon([{ name: 'rules', body: 'first' }]);
  store.add([reading(0)]);
  rmSync(inTheWay);
  let n = 0;
  // Goes on all the while, as a room does.
  await waitUntil('it is saved', () => {
    n += 1;
    store.add([reading(n)]);
    store.keepSoon([{ name: 'rules', body: `of ${n}` }]);
    expect(store.commit({ entries: [entry(n)] })).toEqual([n + 1]);
    return isSaved(faults);
  });
  // What was in the hand of whoever delivers it keeps its id.
  store.acknowledge([store.outbox('mqtt', 1)[0]!.id]);
  n += 1;
  expect(store.commit({ entries: [entry(n)] })).toEqual([n + 1]);
  store.close();
  const all = Array.from({ length: n + 1 }, (_, at) => at);
  expect(found(path)).toEqual({ notes: all, times: all.slice(0, -1), waiting: ['k2'], rules: `of ${n - 1}` });
  expect(faults.map(({ kind }) => kind)).toEqual(['unsaved', 'saved_again']);
});

describe.skipIf(!isRoot)('a disk that was full at the start', () => {
  /** A record of some megabytes on a disk with no room left. */
  function fullDisk(): { path: string; ballast: string; disk: string } {
    const disk = smallDisk(scratch());
    const path = join(disk, 'brinekeep.db');
    const before = openStore({ path, flushMs: 3_600_000, clock: systemClock });
    for (let n = 0; n < 60; n += 1) before.commit({ entries: [entry(n, `${n}`.repeat(60_000))] });
    before.close();
    const ballast = join(disk, 'ballast');
    const { bavail, bsize } = statfsSync(disk);
    writeFileSync(ballast, Buffer.alloc(bavail * bsize));
    return { path, ballast, disk };
  }

  test('a power cut while the memory goes over leaves neither the old record nor the new one', async () => {
    const { path, ballast } = fullDisk();
    const { store, faults } = opened(path);
    expect(numbersIn(store)).toHaveLength(60);
    store.commit({ entries: [entry(60)] });
    rmSync(ballast);
    const copies = scratch();
    let taken = 0;
    await waitUntil('it is saved', async () => {
      for (let turn = 0; turn < 20; turn += 1) {
        await new Promise((resolve) => setImmediate(resolve));
        if (isSaved(faults)) return true;
        taken += 1;
        for (const suffix of ['', '-wal']) {
          if (existsSync(path + suffix)) copyFileSync(path + suffix, join(copies, `${taken}.db${suffix}`));
        }
        if (taken > 80)
          for (const suffix of ['', '-wal']) rmSync(join(copies, `${taken - 80}.db${suffix}`), { force: true });
      }
      return false;
    });
    const states = new Set<number>();
    for (let at = Math.max(1, taken - 79); at <= taken; at += 1)
      states.add(found(join(copies, `${at}.db`)).notes.length);
    expect(states).toContain(60);
    expect([...states].filter((count) => count !== 60 && count !== 61)).toEqual([]);
    store.close();
    expect(found(path).notes).toEqual(Array.from({ length: 61 }, (_, n) => n));
  });

  test('it goes over although there is no room for all of it, and the record is torn', async () => {
    const { path, ballast } = fullDisk();
    const before = readFileSync(path);
    const { store, faults } = opened(path);
    store.commit({ entries: [entry(60)] });
    // Room for a little, not for the record.
    writeFileSync(ballast, readFileSync(ballast).subarray(64 * 1024));
    await new Promise((resolve) => setTimeout(resolve, 200));
    expect(isSaved(faults)).toBe(false);
    expect(numbersIn(store)).toHaveLength(61);
    expect(readFileSync(path).equals(before)).toBe(true);
    rmSync(ballast);
    await waitUntil('it is saved', () => isSaved(faults));
    expect(numbersIn(store)).toHaveLength(61);
  });

  test('a record too large for the memory is read into it, or nobody hears that it is not known', async () => {
    const { path } = fullDisk();
    const faults: StoreFault[] = [];
    const before = readFileSync(path);
    const store = openInAnyCase({
      ...{ path, flushMs: 3_600_000, clock: systemClock, mostInMemoryBytes: before.length - 1 },
      onFault: (fault) => faults.push(fault),
    });
    onTestFinished(() => store.close());
    expect(numbersIn(store)).toEqual([]);
    expect(store.whyUnsaved).toMatch(/restart the hub\..*The record, \d+ MB are too much .*calibrations/);
    await waitUntil('it is said', () => faults.some(({ detail }) => detail.includes('too much for the memory')));
    expect(readFileSync(path).equals(before)).toBe(true);
  });

  test('a file that somebody has put in its place is written over', async () => {
    const { path, ballast, disk } = fullDisk();
    const { store, faults } = opened(path);
    rmSync(path);
    writeFileSync(path, 'another file');
    rmSync(ballast);
    await waitUntil('it is said', () => faults.length > 1);
    expect(faults.at(-1)).toMatchObject({
      kind: 'unsaved',
      detail: expect.stringMatching(/has been replaced .* restart the hub/),
    });
    await new Promise((resolve) => setTimeout(resolve, 100));
    expect(readFileSync(join(disk, 'brinekeep.db'), 'utf8')).toBe('another file');
    expect(numbersIn(store)).toHaveLength(60);
  });
});
