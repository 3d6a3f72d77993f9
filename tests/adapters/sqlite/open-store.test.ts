import { join } from 'node:path';
import { setImmediate as faultsTold } from 'node:timers/promises';
import { describe, expect, it } from 'vitest';
import type { JournalEntry } from '#adapters/ports/store.ts';
import { StoreError } from '#adapters/sqlite/store-error.ts';
import { heldClock, openScratch, scratchFolder } from './scratch.ts';
import { passed, ph, temperature } from './series.ts';

const noon = Date.UTC(2026, 0, 5, 12);

function scratchPath(): string {
  return join(scratchFolder(), 'store.db');
}

function dose(timeMs: number, grams: number, more: Partial<JournalEntry> = {}): JournalEntry {
  return { kind: 'dose', timeMs, recordedMs: timeMs, system: 'display', body: { grams }, ...more };
}

describe('readings', () => {
  it('a reading is hidden from the page until the next flush', () => {
    const store = openScratch({ path: scratchPath() });
    store.add([passed(temperature, noon, 25.1), passed(temperature, noon + 1_000, 25.2)]);
    expect(store.latest(temperature)).toEqual({ timeMs: noon + 1_000, value: 25.2, flag: 'pass' });
    expect(store.readings(temperature, noon, noon + 60_000)).toHaveLength(2);
    expect(store.series()).toEqual([temperature]);
    expect(store.summaries(temperature, 'minute', noon, noon + 60_000)).toEqual([
      { startMs: noon, count: 2, min: 25.1, mean: (25.1 + 25.2) / 2, max: 25.2, worst: 'pass' },
    ]);
  });

  it('readings of before and after a restart do not make one record', () => {
    const path = scratchPath();
    const before = openScratch({ path });
    before.add([passed(temperature, noon, 25)]);
    before.close();
    const after = openScratch({ path });
    expect(after.uncleanStop).toBeUndefined();
    expect(after.latest(temperature)).toEqual({ timeMs: noon, value: 25, flag: 'pass' });
    after.add([passed(temperature, noon + 1_000, 26)]);
    expect(after.summaries(temperature, 'hour', noon, noon + 1)).toEqual([
      { startMs: noon, count: 2, min: 25, mean: 25.5, max: 26, worst: 'pass' },
    ]);
    expect(after.readings(temperature, noon, noon + 2_000, 1)).toEqual([{ timeMs: noon, value: 25, flag: 'pass' }]);
  });

  it('a replayed message counts twice', () => {
    const store = openScratch({ path: scratchPath() });
    store.add([passed(temperature, noon, 25)]);
    store.add([passed(temperature, noon, 99)]);
    store.flush();
    store.add([passed(temperature, noon, 77)]);
    store.flush();
    expect(store.readings(temperature, noon, noon + 1)).toEqual([{ timeMs: noon, value: 25, flag: 'pass' }]);
    expect(store.summaries(temperature, 'minute', noon, noon + 1)[0]).toMatchObject({ count: 1, max: 25 });
  });

  it('a failed value stretches the ribbon of the day', () => {
    const store = openScratch({ path: scratchPath() });
    store.add([
      passed(temperature, noon, 25),
      { series: temperature, timeMs: noon + 1_000, quality: { flag: 'fail', raw: -127, why: 'gross range' } },
      { series: temperature, timeMs: noon + 2_000, quality: { flag: 'missing', why: 'gap' } },
      { series: temperature, timeMs: noon + 3_000, quality: { flag: 'suspect', value: 25.6, why: 'spike' } },
    ]);
    for (const flush of [() => {}, () => store.flush()]) {
      flush();
      expect(store.summaries(temperature, 'minute', noon, noon + 1)).toEqual([
        { startMs: noon, count: 2, min: 25, mean: 25.3, max: 25.6, worst: 'fail' },
      ]);
      expect(store.readings(temperature, noon, noon + 60_000).map(({ value, flag }) => [value, flag])).toEqual([
        [25, 'pass'],
        [-127, 'fail'],
        [25.6, 'suspect'],
      ]);
    }
  });

  it('a probe silent for days hides its last value', () => {
    const store = openScratch({ path: scratchPath(), packMs: 0 });
    store.add([passed(ph, noon - 5 * 86_400_000, 8.1)]);
    store.flush();
    store.add([passed(temperature, noon, 25)]);
    store.close();
    const again = openScratch({ path: store.path });
    expect(again.latest(ph)).toEqual({ timeMs: noon - 5 * 86_400_000, value: 8.1, flag: 'pass' });
  });

  it('a reading that is no number reaches the record', async () => {
    const store = openScratch({ path: scratchPath() });
    store.add([passed(temperature, noon, Number.NaN), passed(temperature, noon + 1, 25)]);
    store.flush();
    expect(store.readings(temperature, noon, noon + 10)).toHaveLength(1);
    await faultsTold();
    expect(store.faults.map((fault) => fault.kind)).toEqual(['reading_refused']);
  });

  it('deleting old readings takes their summaries along', () => {
    const store = openScratch({ path: scratchPath() });
    store.add([0, 30, 60, 90].map((minute) => passed(temperature, noon + minute * 60_000, 25 + minute / 100)));
    const before = store.summaries(temperature, 'hour', noon, noon + 7_200_000);
    expect(store.dropReadingsBefore(noon + 60 * 60_000)).toBe(2);
    expect(store.readings(temperature, 0, noon + 7_200_000)).toHaveLength(2);
    expect(store.summaries(temperature, 'hour', noon, noon + 7_200_000)).toEqual(before);
    // A repeat of a deleted reading could not be told from a first one.
    store.add([passed(temperature, noon, 25)]);
    expect(store.summaries(temperature, 'hour', noon, noon + 7_200_000)).toEqual(before);
  });
});

describe('journal', () => {
  it('a dose sent twice by the phone is two doses', () => {
    const store = openScratch({ path: scratchPath() });
    const [first] = store.commit({ entries: [dose(noon, 5, { key: 'phone-1' })] });
    const [second] = store.commit({ entries: [dose(noon, 5, { key: 'phone-1' })] });
    expect(second).toBe(first);
    expect(store.journal({ kind: 'dose' })).toHaveLength(1);
  });

  it('a corrected dose counts with the wrong number too', () => {
    const store = openScratch({ path: scratchPath() });
    const [first] = store.commit({ entries: [dose(noon, 50)] });
    const [second] = store.commit({ entries: [dose(noon, 5, { corrects: first! })] });
    expect(store.journal({ kind: 'dose' }).map((entry) => entry.body)).toEqual([{ grams: 5 }]);
    // Somebody else corrects the first entry as well: one dose was given, so one counts, the last said.
    store.commit({ entries: [dose(noon, 6, { corrects: first! })] });
    expect(store.journal({ kind: 'dose' }).map((entry) => entry.body)).toEqual([{ grams: 6 }]);
    store.commit({ entries: [dose(noon, 6, { corrects: second!, isWithdrawn: true })] });
    expect(store.journal({ kind: 'dose' })).toEqual([]);
    expect(store.journal({ kind: 'dose', history: true })).toHaveLength(4);
  });

  it('the week is read in the wrong order or from the wrong tank', () => {
    const store = openScratch({ path: scratchPath() });
    store.commit({
      entries: [dose(noon + 2, 2), dose(noon, 0), dose(noon + 1, 1), dose(noon, 9, { system: 'frag' })],
    });
    store.commit({ entries: [{ ...dose(noon, 7), kind: 'note' }] });
    const grams = (entries: { body: Record<string, unknown> }[]) => entries.map((entry) => entry.body['grams']);
    expect(grams(store.journal({ kind: 'dose', system: 'display' }))).toEqual([0, 1, 2]);
    expect(grams(store.journal({ kind: 'dose', system: 'display', order: 'newest', limit: 2 }))).toEqual([2, 1]);
    expect(grams(store.journal({ kind: 'dose', system: 'display', fromMs: noon + 1, toMs: noon + 2 }))).toEqual([1]);
  });

  it('half of a commit stays when the other half cannot be stored', () => {
    const store = openScratch({ path: scratchPath() });
    const attempt = () =>
      store.commit({
        documents: [{ name: 'rules', body: 'half' }],
        outbox: [{ destination: 'mqtt', key: 'k', payload: 'p' }],
        entries: [dose(noon, 1), dose(noon, 2, { corrects: 999 })],
      });
    expect(attempt).toThrow(StoreError);
    expect(store.journal({ history: true })).toEqual([]);
    expect(store.document('rules')).toBeUndefined();
    expect(store.outboxDepth('mqtt')).toEqual({ waiting: 0, parked: 0, dropped: 0 });
  });
});

describe('faults', () => {
  it('an alarm about the store, stored at once, spoils the write that it is about', async () => {
    const store = openScratch({
      path: scratchPath(),
      mirrorBatch: () => {
        throw new Error('broken');
      },
      onFault: ({ kind }) => store.commit({ entries: [{ ...dose(noon, 0), kind: 'alarm', body: { kind } }] }),
    });
    store.add([passed(temperature, noon, 25)]);
    store.flush();
    await faultsTold();
    expect(store.readings(temperature, noon, noon + 1)).toHaveLength(1);
    expect(store.journal({ kind: 'alarm' }).map((entry) => entry.body)).toEqual([{ kind: 'mirror_failed' }]);
  });
});

describe('outbox', () => {
  const item = (key: string, payload = key) => ({ destination: 'mqtt' as const, key, payload });

  it('a notice is delivered twice, out of order, or blocked by one that cannot be delivered', () => {
    const clock = heldClock();
    const store = openScratch({ path: scratchPath(), clock });
    store.commit({ outbox: [item('a'), item('b')] });
    store.commit({ outbox: [item('a', 'again'), item('c')] });
    const waiting = store.outbox('mqtt', 10);
    expect(waiting.map(({ key, payload }) => [key, payload])).toEqual([
      ['a', 'a'],
      ['b', 'b'],
      ['c', 'c'],
    ]);
    store.park(waiting[0]!.id, 'refused');
    store.acknowledge([waiting[1]!.id, waiting[1]!.id, 12_345]);
    expect(store.outbox('mqtt', 10).map((kept) => kept.key)).toEqual(['c']);
    expect(store.outboxDepth('mqtt')).toEqual({ waiting: 1, parked: 1, dropped: 0, oldestMs: clock.nowMs() });
    // A parked item is known: the same key does not come back.
    store.commit({ outbox: [item('a')] });
    expect(store.outboxDepth('mqtt').waiting).toBe(1);
  });

  it('an outbox of weeks without a broker fills the disk or forgets silently', async () => {
    const store = openScratch({ path: scratchPath(), outboxLimit: { items: 3, bytes: 1_000_000 } });
    for (const key of 'abcde') store.commit({ outbox: [item(key)] });
    expect(store.outbox('mqtt', 10).map((kept) => kept.key)).toEqual(['c', 'd', 'e']);
    expect(store.outboxDepth('mqtt')).toMatchObject({ waiting: 3, dropped: 2 });
    await faultsTold();
    expect(store.faults.map((fault) => fault.kind)).toEqual(['outbox_dropped', 'outbox_dropped']);
    store.close();
    const again = openScratch({ path: store.path });
    expect(again.outboxDepth('mqtt')).toMatchObject({ waiting: 3, dropped: 2 });
  });

  it('readings reach the disk without their mirror', () => {
    const store = openScratch({
      path: scratchPath(),
      mirrorBatch: (readings) => ({
        destination: 'influx',
        key: `${readings[0]!.timeMs}`,
        payload: readings.map((reading) => reading.timeMs).join(),
      }),
    });
    store.add([passed(temperature, noon, 25), passed(temperature, noon, 26), passed(ph, noon + 1, 8)]);
    store.flush();
    store.flush();
    expect(store.outbox('influx', 10).map((kept) => kept.payload)).toEqual([`${noon},${noon + 1}`]);
  });
});
