import { createHash } from 'node:crypto';
import { copyFileSync, existsSync } from 'node:fs';
import { join } from 'node:path';
import { setImmediate as nextTurn, setTimeout as pause } from 'node:timers/promises';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import type { Commit, JournalEntry, JournalQuery, KeptEntry } from '#adapters/ports/store.ts';
import { readRecord } from '#adapters/sqlite/record-out.ts';
import { patience } from '../../servers/server-process.ts';
import { heldClock, type OpenedStore, openScratch, scratchFolder } from './scratch.ts';
import { passed, temperature } from './series.ts';

const noon = Date.UTC(2026, 0, 5, 12);
const mostWaiting = 5;
const destinations = ['mqtt', 'mirror'] as const;
const names = ['rules-state', 'rules-since:frag', 'notices-state'] as const;

type GivenEntry = { kind: 'alarm' | 'note' | 'dose'; key: number | undefined; hour: number; back: number | undefined };
type Step =
  | { is: 'commit'; entries: GivenEntry[]; lines: { key: number; bytes: number }[]; documents: [number, number][] }
  | { is: 'fail'; lines: { key: number; bytes: number }[] }
  | { is: 'soon'; documents: [number, number][] }
  | { is: 'add'; readings: number }
  | { is: 'deliver' | 'park'; place: number }
  | { is: 'flush' | 'unpark' | 'turns' | 'backup' | 'kill' | 'power cut' | 'close' };

const upTo = (max: number) => fc.integer({ min: 0, max });
/** Of the last: so many make the log long enough to be brought into the tables. */
const lines = fc.array(fc.record({ key: upTo(9), bytes: fc.constantFrom(4, 4, 4, 60, 90_000) }), { maxLength: 3 });
/** Short ones, some for the log and some too long for it. */
const documents = fc.array(fc.tuple(upTo(names.length - 1), fc.constantFrom(3, 400, 3000)), { maxLength: 2 });
const entry: fc.Arbitrary<GivenEntry> = fc.record({
  kind: fc.constantFrom('alarm', 'alarm', 'alarm', 'note', 'dose'),
  key: fc.option(upTo(15), { nil: undefined }),
  hour: upTo(5),
  back: fc.option(upTo(6), { nil: undefined, freq: 6 }),
});
const step: fc.Arbitrary<Step> = fc.oneof(
  {
    weight: 10,
    arbitrary: fc.record({ is: fc.constant('commit'), entries: fc.array(entry, { maxLength: 3 }), lines, documents }),
  },
  { weight: 1, arbitrary: fc.record({ is: fc.constant('fail'), lines }) },
  { weight: 5, arbitrary: fc.record({ is: fc.constant('soon'), documents }) },
  { weight: 3, arbitrary: fc.record({ is: fc.constant('add'), readings: fc.constantFrom(1, 3, 400) }) },
  { weight: 5, arbitrary: fc.record({ is: fc.constantFrom('deliver', 'park'), place: upTo(4) }) },
  { weight: 4, arbitrary: fc.record({ is: fc.constantFrom('flush', 'flush', 'turns', 'unpark', 'backup') }) },
  { weight: 5, arbitrary: fc.record({ is: fc.constantFrom('kill', 'kill', 'power cut', 'close') }) },
) as fc.Arbitrary<Step>;

/** Words that hardly become shorter; another each time. */
function word(bytes: number, salt: number): string {
  let text = '';
  for (let part = 0; text.length < bytes; part += 1)
    text += createHash('sha256').update(`${salt} ${part}`).digest('base64');
  return text.slice(0, bytes);
}

type Item = { key: string; payload: string; is: 'waiting' | 'delivered' | 'parked' };

/** What a store is promised to do, in plain words and in memory. */
function plainStore() {
  let entries: (KeptEntry & { root: number })[] = [];
  const items: Record<(typeof destinations)[number], Item[]> = { mqtt: [], mirror: [] };
  const onDisk = new Map<string, string>();
  const waiting = new Map<string, string>();
  let readings = 0;

  function dropDelivered(): void {
    for (const each of destinations) items[each] = items[each].filter(({ is }) => is !== 'delivered');
  }
  function putItem(destination: (typeof destinations)[number], key: string, payload: string): void {
    if (items[destination].some((item) => item.key === key)) return;
    items[destination].push({ key, payload, is: 'waiting' });
    const isWaiting = ({ is }: Item) => is === 'waiting';
    while (items[destination].filter(isWaiting).length > mostWaiting)
      items[destination].splice(items[destination].findIndex(isWaiting), 1);
  }
  function documentsDown(): void {
    for (const [name, body] of waiting) onDisk.set(name, body);
    waiting.clear();
  }
  function flush(): void {
    dropDelivered();
    if (readings > 0) putItem('mirror', `${readings}`, '');
    readings = 0;
    documentsDown();
  }
  return {
    flush,
    soon(given: NonNullable<Commit['documents']>): void {
      for (const { name, body } of given) waiting.set(name, body);
    },
    add: (count: number) => {
      readings += count;
    },
    readings: () => readings,
    commit({ entries: given = [], outbox = [], documents: named = [] }: Commit): number[] {
      if (readings <= 300) flush();
      dropDelivered();
      documentsDown();
      for (const { name, body } of named) onDisk.set(name, body);
      for (const { key, payload } of outbox) putItem('mqtt', key, payload);
      return given.map((each) => {
        const older = entries.find(({ key }) => key !== undefined && key === each.key);
        if (older !== undefined) return older.id;
        const id = entries.length + 1;
        const root = each.corrects === undefined ? id : entries[each.corrects - 1]!.root;
        entries = [...entries, { ...each, id, root }];
        return id;
      });
    },
    waitingItems: (destination: (typeof destinations)[number]) =>
      items[destination].filter(({ is }) => is === 'waiting'),
    parkedItems: () => items.mqtt.filter(({ is }) => is === 'parked'),
    unpark() {
      for (const item of items.mqtt) if (item.is === 'parked') item.is = 'waiting';
    },
    killed: () => waiting.clear(),
    powerCut() {
      waiting.clear();
      readings = 0;
      for (const item of [...items.mqtt, ...items.mirror]) if (item.is === 'delivered') item.is = 'waiting';
    },
    document: (name: string) => waiting.get(name) ?? onDisk.get(name),
    entryCount: () => entries.length,
    journal({ order, limit, history, fromMs, toMs, ...query }: JournalQuery): KeptEntry[] {
      const isLast = ({ id, root }: (typeof entries)[number]) =>
        !entries.some((other) => other.root === root && other.id > id);
      return entries
        .filter((each) => query.id === undefined || each.id === query.id)
        .filter((each) => query.key === undefined || each.key === query.key)
        .filter((each) => query.kind === undefined || each.kind === query.kind)
        .filter((each) => each.id > (query.afterId ?? 0))
        .filter(({ timeMs }) => timeMs >= (fromMs ?? 0) && timeMs < (toMs ?? Number.POSITIVE_INFINITY))
        .filter((each) => history === true || (each.isWithdrawn !== true && isLast(each)))
        .sort((a, b) => (a.timeMs - b.timeMs || a.id - b.id) * (order === 'newest' ? -1 : 1))
        .slice(0, limit)
        .map(({ root: _root, ...each }) => each);
    },
  };
}

const queries: JournalQuery[] = [
  {},
  { history: true },
  { kind: 'alarm', order: 'newest', limit: 2 },
  { kind: 'alarm', fromMs: noon + 3_600_000, toMs: noon + 3 * 3_600_000, history: true },
  { kind: 'note', history: true, order: 'newest' },
  { id: 2, history: true },
  { key: 'entry 3' },
  { afterId: 4, system: 'frag', history: true, limit: 3 },
];

function expectSame(store: OpenedStore, plain: ReturnType<typeof plainStore>): void {
  for (const query of queries) {
    expect(store.journal(query), JSON.stringify(query)).toEqual(plain.journal(query));
  }
  for (const destination of destinations) {
    const found = store.outbox(destination, 100);
    const wanted = plain.waitingItems(destination);
    const told = ({ key, payload }: { key: string; payload: string }) => [key, payload.length];
    expect(found.map(told)).toEqual(wanted.map(told));
    expect(found.map(({ id }) => id)).toEqual(found.map(({ id }) => id).toSorted((a, b) => a - b));
    expect(store.outboxDepth(destination).waiting).toBe(wanted.length);
  }
  expect(store.parked('mqtt', 100).map(({ key }) => key)).toEqual(plain.parkedItems().map(({ key }) => key));
  expect(store.outboxDepth('mqtt').parked).toBe(plain.parkedItems().length);
  for (const name of names) expect(store.document(name)).toBe(plain.document(name));
}

test.each([
  { way: 'in one go', packing: { packPauseMs: 0 } },
  { way: 'in steps', packing: { packPauseMs: 1, packStepMs: 0 } },
])(
  'entries, messages or documents are lost, doubled, out of order or older than they were, with packing $way',
  { timeout: 120_000 * patience() },
  async ({ packing }) => {
    await fc.assert(
      fc.asyncProperty(fc.array(step, { minLength: 20, maxLength: 60, size: 'max' }), async (steps) => {
        const clock = heldClock(noon);
        const open = (path: string) =>
          openScratch({
            ...{ path, clock, packAtReadings: 5, outboxLimit: { items: mostWaiting, bytes: 1e9 }, ...packing },
            mirrorBatch: (readings) => ({ destination: 'mirror', key: `${readings.length}`, payload: '' }),
          });
        const copied = (suffixes: string[]) => {
          const path = join(scratchFolder(), 'store.db');
          for (const suffix of suffixes)
            if (existsSync(store.path + suffix)) copyFileSync(store.path + suffix, path + suffix);
          return path;
        };
        let store = open(join(scratchFolder(), 'store.db'));
        const plain = plainStore();
        let salt = 0;
        const documentsOf = (given: [number, number][]) =>
          [...new Map(given)].map(([name, bytes]) => {
            salt += 1;
            return { name: names[name]!, body: word(bytes, salt) };
          });
        const itemsOf = (given: { key: number; bytes: number }[]) =>
          given.map(({ key, bytes }) => {
            salt += 1;
            return { destination: 'mqtt', key: `line ${key}`, payload: word(bytes, salt) };
          });
        const entryOf = ({ kind, key, hour, back }: GivenEntry): JournalEntry => {
          salt += 1;
          const corrects = plain.entryCount() - (back ?? Number.POSITIVE_INFINITY);
          const timeMs = noon + hour * 3_600_000;
          return {
            ...{ kind, timeMs, recordedMs: noon + salt, system: 'frag', body: { salt } },
            ...(key !== undefined && { key: `entry ${key}` }),
            ...(corrects > 0 && { corrects, ...(salt % 3 === 0 && { isWithdrawn: true }) }),
          };
        };
        const reopened = async (after: 'kill' | 'power cut') => {
          // The file beside the store is written at the end of a turn.
          await nextTurn();
          const cut = copied(after === 'kill' ? ['', '-wal', '-unflushed'] : ['', '-wal']);
          store.close();
          store = open(cut);
          if (after === 'kill') plain.killed();
          else plain.powerCut();
        };
        for (const each of steps) {
          if (each.is === 'commit') {
            const commit = {
              entries: each.entries.map(entryOf),
              outbox: itemsOf(each.lines),
              documents: documentsOf(each.documents),
            };
            expect(store.commit(commit)).toEqual(plain.commit(commit));
          } else if (each.is === 'fail') {
            const corrects = plain.entryCount() + 7;
            const wrong = { ...entryOf({ kind: 'alarm', key: undefined, hour: 0, back: undefined }), corrects };
            const right = entryOf({ kind: 'alarm', key: undefined, hour: 0, back: undefined });
            expect(() => store.commit({ entries: [right, wrong], outbox: itemsOf(each.lines) })).toThrow('not found');
          } else if (each.is === 'soon') {
            const given = documentsOf(each.documents);
            store.keepSoon(given);
            plain.soon(given);
          } else if (each.is === 'add') {
            store.add(
              Array.from({ length: each.readings }, () => {
                clock.forward(10_000);
                return passed(temperature, clock.nowMs(), 25);
              }),
            );
            plain.add(each.readings);
          } else if (each.is === 'deliver' || each.is === 'park') {
            const item = plain.waitingItems('mqtt')[each.place];
            const kept = store.outbox('mqtt', 100)[each.place];
            if (item === undefined || kept === undefined) continue;
            item.is = each.is === 'park' ? 'parked' : 'delivered';
            if (each.is === 'park') store.park(kept.id, 'invented');
            else store.acknowledge([kept.id]);
          } else if (each.is === 'flush') {
            store.flush();
            plain.flush();
          } else if (each.is === 'unpark') {
            store.unpark(store.parked('mqtt', 100).map(({ id }) => id));
            plain.unpark();
          } else if (each.is === 'turns') await pause(3);
          else if (each.is === 'backup') {
            const path = join(scratchFolder(), 'backup.db');
            await store.backup(path);
            plain.flush();
            const backup = open(path);
            expectSame(backup, plain);
            backup.close();
          } else if (each.is === 'close') {
            store.close();
            plain.flush();
            store = open(store.path);
          } else await reopened(each.is);
          expectSame(store, plain);
        }
        await reopened('kill');
        expectSame(store, plain);
        await nextTurn();
        expect(store.faults.filter(({ kind }) => kind !== 'outbox_dropped')).toEqual([]);
        const parts = [...readRecord(copied(['', '-wal']), clock, (sentence) => expect(sentence).toBe('nothing'))];
        expect(parts.flatMap((part) => (part.part === 'entry' ? [part.entry.id] : []))).toEqual(
          Array.from({ length: plain.entryCount() }, (_, place) => place + 1),
        );
        store.close();
      }),
      { numRuns: 12, seed: 20261201, endOnFailure: true },
    );
  },
);
