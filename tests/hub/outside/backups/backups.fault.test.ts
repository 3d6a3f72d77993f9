import { existsSync, mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { type Backups, createBackups } from '#hub/outside/backups/backups.ts';
import { createManualClock, type ManualClock } from '../../../adapters/clock/manual-clock.ts';
import { configOf, roomText } from '../../../servers/hub-process.ts';
import { waitUntil } from '../../../servers/server-process.ts';

const hourMs = 3_600_000;
const series = { system: 'display', metric: 'ph', probe: 'ph1' } as const;

let dir: string;
let clock: ManualClock;
let store: Store;
let backups: Backups;
let failures: string[];
let making: number;
let mostAtOnce: number;
let isClockTrusted: boolean;

function start(): void {
  const config = configOf(
    roomText(dir, { site: { name: 'Room (invented)', timezone: 'UTC' }, backups: { keep_daily: 2 } }),
  );
  backups = createBackups({
    ...{ config, storePath: join(dir, 'data', 'brinekeep.db') },
    store: {
      ...store,
      async backup(path) {
        making += 1;
        mostAtOnce = Math.max(mostAtOnce, making);
        await store.backup(path).finally(() => {
          making -= 1;
        });
      },
    },
    nowMs: () => clock.nowMs(),
    monotonicMs: () => clock.monotonicMs(),
    isClockTrusted: () => isClockTrusted,
    log: { info() {}, error() {} },
    failed: (line) => failures.push(line),
  });
}

beforeEach(() => {
  dir = mkdtempSync(join(tmpdir(), 'brinekeep-backups-'));
  mkdirSync(join(dir, 'data'));
  clock = createManualClock(Date.parse('2026-06-01T12:00:00Z'));
  store = openStore({ path: join(dir, 'data', 'brinekeep.db'), flushMs: 60_000, clock });
  failures = [];
  making = 0;
  mostAtOnce = 0;
  isClockTrusted = true;
  start();
});
afterEach(async () => {
  await backups.stop();
  store.close();
  rmSync(dir, { recursive: true, force: true });
});

const files = () => (existsSync(join(dir, 'data', 'backups')) ? readdirSync(join(dir, 'data', 'backups')).sort() : []);

/** Ticks as the hub does, twice, and waits for what they began. */
async function tick(): Promise<void> {
  backups.tick();
  backups.tick();
  await waitUntil('it is done', () => !backups.state().isRunning);
}

test('a night passes without a backup, with two, or with one that lacks the newest reading', async () => {
  await tick();
  expect(files()).toEqual([]);
  store.add([{ series, timeMs: clock.nowMs(), quality: { flag: 'pass', value: 8.11 } }]);
  clock.advance(15 * hourMs);
  await tick();
  expect(files()).toEqual([]);
  clock.advance(hourMs);
  await tick();
  expect(files()).toEqual(['brinekeep-2026-06-02.db']);
  expect(mostAtOnce).toBe(1);
  const copy = openStore({ path: join(dir, 'data', 'backups', 'brinekeep-2026-06-02.db'), flushMs: 60_000, clock });
  expect(copy.latest(series)?.value).toBe(8.11);
  copy.close();
  expect(backups.state()).toMatchObject({ lastGoodMs: clock.nowMs(), error: undefined });
});

test('a hub that was off at night makes no backup, or deletes what the keeper put beside', async () => {
  await tick();
  mkdirSync(join(dir, 'data', 'backups'), { recursive: true });
  writeFileSync(join(dir, 'data', 'backups', 'brinekeep-2020-01-01.db'), 'not made by the hub');
  for (let night = 0; night < 4; night += 1) {
    clock.advance(30 * hourMs);
    await backups.stop();
    start();
    await tick();
  }
  expect(files()).toEqual(['brinekeep-2020-01-01.db', 'brinekeep-2026-06-05.db', 'brinekeep-2026-06-06.db']);
});

test('a backup that cannot be written is told every minute, or never, or costs the last good one', async () => {
  await tick();
  clock.advance(24 * hourMs);
  await tick();
  const good = files();
  const blocked = join(dir, 'data', 'backups', 'brinekeep-2026-06-03.db');
  mkdirSync(blocked);
  writeFileSync(join(blocked, 'in-the-way'), '');
  clock.advance(24 * hourMs);
  for (let minute = 0; minute < 90; minute += 1) {
    clock.advance(60_000);
    await tick();
  }
  expect(failures).toHaveLength(1);
  expect(failures[0]).toContain('brinekeep-2026-06-03.db');
  expect(backups.state().error).toBeDefined();
  expect(files()).toEqual([...good, 'brinekeep-2026-06-03.db']);
  rmSync(blocked, { recursive: true });
  clock.advance(hourMs);
  await tick();
  expect(backups.state()).toMatchObject({ error: undefined, lastGoodMs: clock.nowMs() });
});

test('a clock that nobody has set names a backup after a day that never was', async () => {
  await tick();
  isClockTrusted = false;
  clock.advance(48 * hourMs);
  await tick();
  expect(files()).toEqual([]);
});

test('photos are not in the backup, or are copied anew every night', async () => {
  await tick();
  const photos = join(dir, 'data', 'photos');
  mkdirSync(photos);
  writeFileSync(join(photos, 'p1-1.jpg'), 'a photo (invented)');
  writeFileSync(join(photos, 'p1-2.jpg.draft'), 'half');
  clock.advance(24 * hourMs);
  await tick();
  expect(readdirSync(join(dir, 'data', 'backups', 'photos'))).toEqual(['p1-1.jpg']);
});
