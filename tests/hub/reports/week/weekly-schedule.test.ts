import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { csvLine } from '#adapters/csv/cells.ts';
import { writeWholeFile } from '#adapters/csv/write-file.ts';
import type { Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { loadConfig } from '#hub/model/config/load.ts';
import { dueWeeks } from '#hub/reports/week/due-weeks.ts';
import { weeklyFiles } from '#hub/reports/week/weekly-files.ts';
import { startWeekly, type WeeklyWork } from '#hub/reports/week/weekly-schedule.ts';
import { createManualClock } from '../../../adapters/clock/manual-clock.ts';
import { smallest } from '../../model/config/config-texts.ts';

const lisbon = 'Europe/Lisbon';
const at = (time: string) => Date.parse(time);

describe('which weeks are due', () => {
  const old = at('2026-01-15T00:00:00Z');

  test('a week is due from the first moment of Monday in the room, not in Greenwich', () => {
    // In summer Monday begins in Lisbon at 23:00 UTC of Sunday.
    expect(dueWeeks('2026-W26', old, at('2026-07-05T22:59:59Z'), lisbon)).toEqual([]);
    expect(dueWeeks('2026-W26', old, at('2026-07-05T23:00:00Z'), lisbon)).toEqual(['2026-W27']);
    expect(dueWeeks('2026-W26', old, at('2026-07-05T23:00:00Z'), 'UTC')).toEqual([]);
  });

  test('weeks missed while the hub was off are made up, across the end of a year of 53 weeks', () => {
    const due = ['2026-W52', '2026-W53', '2027-W01'];
    expect(dueWeeks('2026-W51', old, at('2027-01-12T09:00:00Z'), lisbon)).toEqual(due);
  });

  test('a first start writes from the week of the oldest data on, and an empty store writes nothing', () => {
    const now = at('2026-04-07T00:00:00Z');
    expect(dueWeeks(undefined, at('2026-03-24T00:00:00Z'), now, lisbon)).toEqual(['2026-W13', '2026-W14']);
    expect(dueWeeks(undefined, undefined, now, lisbon)).toEqual([]);
    expect(dueWeeks(undefined, now, at('2026-04-08T00:00:00Z'), lisbon)).toEqual([]);
  });

  test('a clock that once ran ahead does not silence the weekly files for years', () => {
    const now = at('2026-04-07T00:00:00Z');
    expect(dueWeeks('2031-W05', old, now, lisbon)).toEqual(['2026-W14']);
    expect(dueWeeks('not a week', at('2026-04-01T00:00:00Z'), now, lisbon)).toEqual(['2026-W14']);
  });

  test('a board that wakes up in 1970 writes nothing, and goes on as before when its clock is right', () => {
    expect(dueWeeks('2026-W13', old, 0, lisbon)).toEqual([]);
    expect(dueWeeks(undefined, old, 0, lisbon)).toEqual([]);
  });

  test('a reading that was dated in 1970 makes no thousands of files', () => {
    const due = dueWeeks(undefined, 0, at('2026-04-07T00:00:00Z'), lisbon);
    expect(due).toHaveLength(520);
    expect(due.at(-1)).toBe('2026-W14');
  });
});

describe('the writer', () => {
  const loaded = loadConfig(smallest, 'room.yaml', {}, () => '');
  if (!loaded.ok) throw new Error('the room does not load');
  let folder: string;
  let store: Store;
  let work: WeeklyWork;
  let log: string[];

  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'schedule-test-'));
    store = openStore({
      path: join(folder, 'room.db'),
      flushMs: 60_000,
      clock: createManualClock(at('2026-03-25T00:00:00Z')),
    });
    store.add([
      {
        series: { system: 'display', metric: 'ph', probe: 'ph1' },
        timeMs: at('2026-03-24T12:00:00Z'),
        quality: { flag: 'pass', value: 8.1 },
      },
    ]);
    log = [];
    const config = { ...loaded.config, weekly: { dir: join(folder, 'weekly') } };
    const nowMs = () => Date.now();
    work = {
      config,
      store,
      nowMs,
      write: writeWholeFile,
      files: (week) => weeklyFiles({ config, store, line: csvLine, nowMs }, week),
      log: {
        info: (_fields, message) => void log.push(message),
        error: (_fields, message) => void log.push(`ERROR ${message}`),
      },
    };
    vi.useFakeTimers({ toFake: ['Date', 'setTimeout', 'clearTimeout'] });
  });

  afterEach(() => {
    vi.useRealTimers();
    store.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const written = () => readdirSync(join(folder, 'weekly')).sort();

  test('writes what was missed at the start, then each Monday, and nothing after it was stopped', async () => {
    vi.setSystemTime(at('2026-04-05T22:00:00Z'));
    const weekly = startWeekly(work);
    await weekly.idle();
    expect(written()).toEqual(['alarms-2026-W13.csv', 'daily-2026-W13.csv', 'tests-doses-2026-W13.csv']);

    // Monday 6 April begins in Lisbon at 23:00 UTC; the files come at a quarter past.
    vi.advanceTimersByTime(74 * 60_000);
    await weekly.idle();
    expect(written()).toHaveLength(3);
    vi.advanceTimersByTime(2 * 60_000);
    await weekly.idle();
    expect(written().filter((name) => name.includes('2026-W14'))).toHaveLength(3);
    expect(store.document('last_week_written')).toBe('2026-W14');

    weekly.stop();
    vi.advanceTimersByTime(8 * 86_400_000);
    await weekly.idle();
    expect(written()).toHaveLength(6);
    expect(log).toHaveLength(2);
  });

  test('a disk that was full when the week ended gets its files an hour later', async () => {
    vi.setSystemTime(at('2026-03-30T10:00:00Z'));
    const isFull = vi.fn().mockReturnValueOnce(true).mockReturnValue(false);
    const weekly = startWeekly({
      ...work,
      async write(path, text) {
        if (isFull()) throw new Error('ENOSPC: no space left on device');
        await writeWholeFile(path, text);
      },
    });
    await weekly.idle();
    expect(log).toEqual(['ERROR the files of the week could not be written']);
    expect(store.document('last_week_written')).toBeUndefined();
    vi.advanceTimersByTime(3_600_000);
    await weekly.idle();
    expect(written()).toHaveLength(3);
    weekly.stop();
  });

  test('a stop between two missed weeks leaves the rest due, and does not touch a closed store', async () => {
    vi.setSystemTime(at('2026-05-04T10:00:00Z'));
    const weekly = startWeekly({
      ...work,
      async write(path, text) {
        await writeWholeFile(path, text);
        if (path.includes('alarms-2026-W14')) weekly.stop();
      },
    });
    await weekly.idle();
    expect(store.document('last_week_written')).toBe('2026-W13');
    expect(log).toEqual(['the files of the week are written']);
    const again = startWeekly(work);
    await again.idle();
    again.stop();
    expect(store.document('last_week_written')).toBe('2026-W18');
  });
});
