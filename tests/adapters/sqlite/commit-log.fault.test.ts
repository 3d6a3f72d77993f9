import { createHash } from 'node:crypto';
import { copyFileSync, existsSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate as faultsTold } from 'node:timers/promises';
import { deflateRawSync } from 'node:zlib';
import Database from 'better-sqlite3';
import { expect, onTestFinished, test, vi } from 'vitest';
import type { Commit } from '#adapters/ports/store.ts';
import { journalTable } from '#adapters/sqlite/journal-table.ts';
import { rowCheck } from '#adapters/sqlite/row-check.ts';
import { salvageInto } from '#adapters/sqlite/salvage.ts';
import { migrate } from '#adapters/sqlite/schema.ts';
import type { StoreOptions } from '#adapters/sqlite/store-options.ts';
import { heldClock, openScratch, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

const noon = Date.UTC(2026, 0, 5, 12);
const scratchPath = () => join(scratchFolder(), 'store.db');

function event(number: number, state = 'raised'): Commit {
  const timeMs = noon + number * 1000;
  return {
    entries: [
      { kind: 'alarm', timeMs, recordedMs: timeMs, system: 'frag', body: { state, number }, key: `alarm-${number}` },
    ],
    outbox: [
      { destination: 'mqtt', key: `line-${number}`, payload: `{"line":"invented ${number}"}` },
      { destination: 'mqtt', key: `state-${number}`, payload: '{}' },
    ],
    documents: [{ name: 'rules-state', body: `after ${number}` }],
  };
}

function copyOf(path: string, suffixes = ['', '-wal', '-unflushed']): string {
  const copy = scratchPath();
  for (const suffix of suffixes) if (existsSync(path + suffix)) copyFileSync(path + suffix, copy + suffix);
  return copy;
}

const afterKill = (path: string) => openScratch({ path: copyOf(path) });
const afterPowerCut = (path: string) => openScratch({ path: copyOf(path, ['', '-wal']) });

const contentOf = (store: ReturnType<typeof openScratch>) => ({
  numbers: store.journal({ kind: 'alarm' }).map(({ body }) => body['number']),
  outbox: store.outbox('mqtt', 100).map(({ key }) => key),
  depth: store.outboxDepth('mqtt').waiting,
  document: store.document('rules-state'),
});

const opened = (options: Partial<StoreOptions> = {}) => openScratch({ path: scratchPath(), ...options });

test('an event is lost by a power cut, or is not read where it was stored', () => {
  const store = opened();
  const [id] = store.commit(event(1));
  const wanted = { numbers: [1], outbox: ['line-1', 'state-1'], depth: 2, document: 'after 1' };
  expect(contentOf(store)).toEqual(wanted);
  const left = afterPowerCut(store.path);
  expect(contentOf(left)).toEqual(wanted);
  expect(left.journal({ id: id! })).toHaveLength(1);
  // Once more, by a process that was killed in turn.
  expect(contentOf(afterPowerCut(left.path))).toEqual(wanted);
});

test('what was delivered is told again after a power cut, though readings were flushed since', async () => {
  const store = opened();
  store.commit(event(1));
  store.acknowledge([store.outbox('mqtt', 1)[0]!.id]);
  await faultsTold();
  expect(contentOf(afterKill(store.path)).outbox).toEqual(['state-1']);
  store.add([passed(temperature, noon, 25)]);
  store.flush();
  expect(contentOf(afterPowerCut(store.path))).toMatchObject({ outbox: ['state-1'], depth: 1 });
});

test('the log brings back an older document', () => {
  const store = opened();
  store.commit(event(1));
  store.keepSoon([{ name: 'rules-state', body: 'later' }]);
  store.flush();
  expect(store.document('rules-state')).toBe('later');
  expect(afterPowerCut(store.path).document('rules-state')).toBe('later');
  store.commit(event(2));
  store.commit({ documents: [{ name: 'rules-state', body: 'by hand' }] });
  expect(afterPowerCut(store.path).document('rules-state')).toBe('by hand');
});

test.each([
  { when: 'nothing else waits', waiting: 0 },
  { when: 'many readings wait', waiting: 400 },
])('a document that names one which waited is there after a kill without it, where $when', ({ waiting }) => {
  const store = opened();
  store.commit({ documents: [{ name: 'whole', body: '1' }] });
  store.add(Array.from({ length: waiting }, (_, place) => passed(temperature, noon + place, 25)));
  store.keepSoon([{ name: 'whole', body: '2' }]);
  store.commit({ ...event(1), documents: [{ name: 'since', body: 'after 2' }] });
  const left = afterKill(store.path);
  expect([left.document('since'), left.document('whole')]).toEqual(['after 2', '2']);
});

test('an entry that a person makes between two events takes the number of one of them', () => {
  const store = opened();
  const note = { kind: 'note', timeMs: noon, recordedMs: noon, system: 'frag', body: { text: 'invented' } } as const;
  const ids = [event(1), { entries: [note] }, event(2), { entries: [note] }].flatMap((commit) => store.commit(commit));
  expect(ids).toEqual([1, 2, 3, 4]);
  expect(
    store
      .journal({ history: true })
      .map(({ id }) => id)
      .sort(),
  ).toEqual(ids);
  const left = afterPowerCut(store.path);
  expect(left.commit(event(3))).toEqual([5]);
  expect(left.commit(event(2))).toEqual([3]);
});

test('readings that are packed take the events of the same log with them', () => {
  const clock = heldClock(noon);
  const store = opened({ clock, packAtReadings: 100 });
  const numbers: number[] = [];
  for (let number = 1; number <= 200; number += 1) {
    clock.forward(60_000);
    store.add([passed(temperature, clock.nowMs(), 25 + number / 1000)]);
    store.commit(event(number));
    store.flush();
    numbers.push(number);
    if (number % 40 === 0) expect(contentOf(afterPowerCut(store.path)).numbers).toEqual(numbers);
  }
  expect(contentOf(store)).toMatchObject({ numbers, depth: 400, document: 'after 200' });
  expect(store.readings(temperature, 0, Number.MAX_SAFE_INTEGER)).toHaveLength(200);
});

test('readings are never packed while events come more often than flushes', () => {
  vi.useFakeTimers();
  onTestFinished(() => void vi.useRealTimers());
  const clock = heldClock(noon);
  const store = opened({ clock, packAtReadings: 100, flushMs: 10_000 });
  for (let number = 1; number <= 50; number += 1) {
    store.add(Array.from({ length: 10 }, (_, place) => passed(temperature, clock.nowMs() + place, 25)));
    store.commit(event(number));
    clock.forward(5_000);
    vi.advanceTimersByTime(5_000);
  }
  const db = new Database(copyOf(store.path));
  expect(db.prepare('SELECT count(*) FROM blocks').pluck().get()).not.toBe(0);
  db.close();
});

test('a message is set aside and comes back after a kill as one that waits', () => {
  const store = opened();
  store.commit(event(1));
  store.park(store.outbox('mqtt', 1)[0]!.id, 'refused');
  const left = afterKill(store.path);
  expect(left.parked('mqtt', 10).map(({ key, reason }) => [key, reason])).toEqual([['line-1', 'refused']]);
  expect(contentOf(left).outbox).toEqual(['state-1']);
});

test('a transaction that fails leaves part of an event', () => {
  const store = opened();
  store.commit(event(1));
  const isUnknown = { kind: 'alarm', timeMs: noon, recordedMs: noon, system: 'frag', body: {}, corrects: 77 } as const;
  expect(() => store.commit({ ...event(2), entries: [...event(2).entries!, isUnknown] })).toThrow();
  expect(contentOf(store)).toMatchObject({ numbers: [1], depth: 2, document: 'after 1' });
  expect(contentOf(afterPowerCut(store.path))).toMatchObject({ numbers: [1], depth: 2, document: 'after 1' });
});

test('after a damage an alarm in the log is told as lost, though it is there', async () => {
  const store = opened();
  store.commit(event(1));
  store.commit({
    entries: [{ kind: 'note', timeMs: noon, recordedMs: noon, system: 'frag', body: { text: 'invented' } }],
  });
  const path = copyOf(store.path);
  writeFileSync(`${path}-wal`, readFileSync(`${path}-wal`).fill(0, 0, 32));
  const left = openScratch({ path });
  await faultsTold();
  expect(left.faults.map(({ kind, lost }) => [kind, lost])).toEqual([['log_damaged', []]]);
  expect(left.journal({})).toHaveLength(2);

  const fresh = new Database(':memory:');
  migrate(fresh);
  const whole = copyOf(store.path);
  expect(salvageInto(fresh, [() => new Database(whole)]).lost).toEqual([]);
  fresh.close();
});

test('what the tables refuse waits in the log, and the store never opens again', () => {
  const store = opened();
  const [entry] = event(1).entries!;
  expect(() => store.commit({ entries: [{ ...entry!, timeMs: noon + 0.5 }] })).toThrow('INTEGER');
  store.commit(event(2));
  expect(contentOf(afterPowerCut(store.path))).toMatchObject({ numbers: [2], depth: 2 });
});

test('a row of the log that a flipped bit has changed is taken for what was written, and nobody hears of it', async () => {
  const store = opened();
  store.commit(event(1));
  store.commit(event(2));
  store.close();
  const db = new Database(store.path);
  db.prepare('UPDATE flush_log SET body = ? WHERE id = 1').run(Buffer.from('\xff spoiled', 'latin1'));
  db.close();
  const left = openScratch({ path: store.path });
  await faultsTold();
  expect(left.faults.map(({ kind }) => kind)).toContain('damaged');
  expect(contentOf(left)).toMatchObject({ numbers: [2], document: 'after 2' });
});

test.each(['body', 'first byte', 'check'] as const)(
  'a flipped bit in the %s of the row that says what is in the tables brings back an older document',
  (where) => {
    const store = opened();
    store.commit(event(1));
    store.commit({ documents: [{ name: 'rules-state', body: 'by hand' }] });
    const path = copyOf(store.path);
    const db = new Database(path);
    const row = db.prepare('SELECT id, body, row_check FROM flush_log ORDER BY id DESC').get() as {
      id: number;
      body: Buffer;
      row_check: number;
    };
    if (where !== 'check') row.body[where === 'body' ? 2 : 0]! ^= 4;
    db.prepare('UPDATE flush_log SET body = $body, row_check = $row_check WHERE id = $id').run({
      ...row,
      row_check: where === 'check' ? row.row_check ^ 4 : row.row_check,
    });
    db.close();
    const left = openScratch({ path });
    expect(contentOf(left)).toMatchObject({ numbers: [1], document: 'by hand' });
  },
);

test('a log that is put together of two states brings back an older document, a message that was delivered, or loses an alarm', () => {
  const clock = heldClock(noon);
  const store = opened({ clock, packAtReadings: 1 });
  for (let number = 1; number <= 5; number += 1) store.commit(event(number));
  const earlier = copyOf(store.path);
  store.acknowledge(store.outbox('mqtt', 100).map(({ id }) => id));
  store.commit({ documents: [{ name: 'rules-state', body: 'by hand' }] });
  // Packs, and begins the log anew.
  store.add([passed(temperature, noon, 25), passed(temperature, noon + 1000, 25)]);
  store.flush();
  store.commit({ documents: [{ name: 'rules-state', body: 'later' }] });
  const whole = copyOf(store.path);
  const fresh = new Database(':memory:');
  migrate(fresh);
  salvageInto(fresh, [() => new Database(whole), () => new Database(earlier)]);
  expect(fresh.prepare("SELECT body FROM documents WHERE name = 'rules-state'").pluck().get()).toBe('later');
  expect(fresh.prepare('SELECT count(*) FROM journal').pluck().get()).toBe(5);
  expect(fresh.prepare('SELECT count(*) FROM outbox').pluck().get()).toBe(0);
  fresh.close();
});

test('alarms without a reading and without a receiver fill the memory', () => {
  const store = opened();
  // So that nothing of it can be packed away.
  const random = (number: number) =>
    Array.from({ length: 20 }, (_, part) => createHash('sha512').update(`${number} ${part}`).digest('base64')).join('');
  for (let number = 1; number <= 230; number += 1) {
    const each = event(number);
    store.commit({ entries: each.entries!.map((entry) => ({ ...entry, body: { number, text: random(number) } })) });
  }
  const inTable = () => {
    const db = new Database(copyOf(store.path));
    const count = db.prepare('SELECT count(*) FROM journal').pluck().get();
    db.close();
    return count;
  };
  expect(inTable()).toBe(0);
  store.flush();
  expect(inTable()).toBe(230);
});

test('each entry of years is held against all of the log to know whether it was corrected', () => {
  const db = new Database(':memory:');
  migrate(db);
  journalTable(db, () => {});
  const plan = db
    .prepare(
      'EXPLAIN QUERY PLAN SELECT 1 FROM journal_all WHERE NOT EXISTS (SELECT 1 FROM journal_all AS later WHERE later.root = coalesce(journal_all.root, journal_all.id) AND later.id > journal_all.id)',
    )
    .all() as { detail: string }[];
  const ofCorrections = plan.map(({ detail }) => detail).filter((detail) => detail.includes('root='));
  for (const index of ['journal_by_root', 'new_journal_by_root'])
    expect(ofCorrections.filter((detail) => detail.includes(` INDEX ${index} `))).toHaveLength(2);
  db.close();
});

test('a document of some length that comes with readings is not there after a power cut, or is the older one', () => {
  const store = opened();
  const long = (word: string) => JSON.stringify(Array(60).fill(word));
  for (const word of ['first', 'second', 'third']) {
    store.keepSoon([{ name: 'rules-since:frag', body: long(word) }]);
    store.flush();
    expect(store.document('rules-since:frag')).toBe(long(word));
    expect(afterPowerCut(store.path).document('rules-since:frag')).toBe(long(word));
  }
  store.keepSoon([{ name: 'rules-since:frag', body: 'short' }]);
  store.flush();
  expect(afterPowerCut(store.path).document('rules-since:frag')).toBe('short');
});

test('what an earlier version packed itself is given as it lies in the table', () => {
  const store = opened();
  store.close();
  const text = JSON.stringify({ series: Array(200).fill(null) });
  const body = `deflate;base64,${deflateRawSync(text, { level: 1 }).toString('base64')}`;
  const db = new Database(store.path);
  db.prepare('INSERT INTO documents VALUES (?, ?, ?)').run('rules-state', body, rowCheck('rules-state', body));
  db.close();
  expect(openScratch({ path: store.path }).document('rules-state')).toBe(text);
});

test('an event changes many pages of the file', () => {
  const store = opened();
  const logBytes = () => statSync(`${store.path}-wal`).size;
  for (let number = 1; number <= 20; number += 1) store.commit(event(number));
  const before = logBytes();
  for (let number = 21; number <= 40; number += 1) store.commit(event(number));
  // Pages of 1 kB; brought into its tables an event takes ten of them and more.
  expect((logBytes() - before) / 20).toBeLessThan(4 * 1048);
});
