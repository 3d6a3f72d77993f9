import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { csvLine } from '#adapters/csv/cells.ts';
import { createMqttNotifier } from '#adapters/notify/mqtt/mqtt-notifier.ts';
import type { Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { waysTo } from '#hub/judgement/notices/notice-items.ts';
import { topicsBelow } from '#hub/model/config/topics.ts';
import { mondayCommit } from '#hub/reports/week/monday-line.ts';
import { createWeekReviews } from '#hub/reports/week/week-reviews.ts';
import { startWeekly, type WeeklyWork } from '#hub/reports/week/weekly-schedule.ts';
import { createManualClock, type ManualClock } from '../../../adapters/clock/manual-clock.ts';
import { emptyStore, everyTenMinutes, type OpenedStore, reviewRoom } from './review-room.ts';

const at = (time: string) => Date.parse(time);
const mondayMs = at('2026-11-16T00:00:00Z');
const nextMondayMs = at('2026-11-23T00:00:00Z');
const config = reviewRoom();

const ways = waysTo([createMqttNotifier(topicsBelow('room'), () => undefined)]);

describe('the result of the week on Monday', () => {
  let opened: OpenedStore;
  let store: Store;
  let clock: ManualClock;
  let nudges: number;
  let errors: string[];

  beforeEach(() => {
    opened = emptyStore(mondayMs);
    store = opened.store;
    clock = createManualClock(nextMondayMs - 60_000);
    nudges = 0;
    errors = [];
    store.add(everyTenMinutes('t1', 'temperature', mondayMs, nextMondayMs, () => 25.5));
    store.flush();
  });

  afterEach(() => {
    store.close();
    opened.remove();
  });

  /** One look of the schedule, as at the start of the hub and at a quarter past every hour. */
  async function look(changed: Partial<Pick<WeeklyWork, 'store'>> = {}): Promise<void> {
    const { nowMs } = clock;
    const reviews = createWeekReviews({ config, store, line: csvLine, units: () => ({}), isInvented: false, nowMs });
    const weekly = startWeekly({
      ...{ config: { ...config, weekly: { dir: opened.folder } }, store, nowMs, write: async () => {} },
      files: reviews.files,
      tell: { ways, config: () => config, review: reviews.review, nudge: () => void nudges++ },
      log: { info: () => {}, error: (_fields, message) => void errors.push(message) },
      ...changed,
    });
    await weekly.idle();
    weekly.stop();
  }

  function restart(): void {
    store.close();
    store = openStore({ path: join(opened.folder, 'room.db'), flushMs: 60_000, clock });
  }

  const waiting = () =>
    store
      .outbox('mqtt', 100)
      .map(({ payload }) => JSON.parse(payload) as { topic: string; payload: string; retain: boolean });
  const lines = () => waiting().filter(({ topic }) => topic === 'room/phone');

  test('it is said before the week is over, in the night, twice, or not at all', async () => {
    await look();
    // 00:15 on Monday: the week is over and its files are written, and people sleep.
    clock.advance(16 * 60_000);
    await look();
    expect(store.document('last_week_written')).toBe('2026-W47');
    expect(waiting()).toEqual([]);
    // 07:15: the quiet hours of low notices end at 07:00.
    clock.advance(7 * 3_600_000);
    await look();
    expect(nudges).toBe(1);
    expect(lines().map(({ payload, retain }) => ({ payload, retain }))).toEqual([
      { payload: 'Week 47: bands kept 100 % of the time; 0 alarms; to do: test alkalinity', retain: false },
    ]);
    const summary = waiting().find(({ topic }) => topic === 'room/week');
    expect(summary?.retain).toBe(true);
    expect(JSON.parse(summary?.payload ?? '')).toMatchObject({
      ...{
        week: '2026-W47',
        from: '2026-11-16T00:00:00.000Z',
        to: '2026-11-23T00:00:00.000Z',
        bands_kept_percent: 100,
      },
      ...{ alarms: 0, demand: [], to_do: [{ system: 'display', kind: 'test', what: 'Test alkalinity' }] },
    });

    for (let hour = 0; hour < 3; hour++) {
      clock.advance(3_600_000);
      restart();
      await look();
    }
    expect(waiting()).toHaveLength(2);
    expect(nudges).toBe(1);
  });

  test('after it was delivered, a restart says it again', async () => {
    clock.advance(8 * 3_600_000);
    await look();
    store.acknowledge(store.outbox('mqtt', 100).map(({ id }) => id));
    restart();
    await look();
    clock.advance(3_600_000);
    await look();
    expect(waiting()).toEqual([]);
  });

  test('a full disk loses it for good, or a crash between note and message does', async () => {
    clock.advance(8 * 3_600_000);
    await look({
      store: {
        ...store,
        commit(commit) {
          if (commit.outbox !== undefined) throw new Error('ENOSPC: no space left on device');
          return store.commit(commit);
        },
      },
    });
    expect(errors).toEqual(['the result of the week could not be told']);
    expect(waiting()).toEqual([]);
    // Note and messages are one transaction: neither was stored, so both are due.
    restart();
    await look();
    expect(lines()).toHaveLength(1);
  });

  test('a hub that was off for weeks says them all, or one long past as news', async () => {
    clock.advance(21 * 86_400_000 + 8 * 3_600_000);
    await look();
    expect(store.document('last_week_written')).toBe('2026-W50');
    expect(lines().map(({ payload }) => payload.slice(0, 8))).toEqual(['Week 50:']);
  });

  test('the line is longer than a locked phone shows, or carries a line break of a name', async () => {
    const reviews = createWeekReviews({
      ...{ config: reviewRoom(`Tank\n${'x'.repeat(50)}`), store, line: csvLine, isInvented: false },
      units: () => ({}),
      nowMs: clock.nowMs,
    });
    const review = reviews.review('2026-W47');
    const sent = review === undefined ? [] : (mondayCommit(review, ways).outbox ?? []);
    const messages = sent.map(({ payload }) => JSON.parse(payload) as { topic: string; payload: string });
    const line = messages.find(({ topic }) => topic === 'room/phone')?.payload ?? '';
    expect(line).toContain('Week 47');
    expect([...line].length).toBeLessThanOrEqual(180);
    expect(line).not.toContain('\n');
  });
});
