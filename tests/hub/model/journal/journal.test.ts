import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { systemClock } from '#adapters/clock/system-clock.ts';
import { type JournalEntry, journalKinds, type Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import type { StoreFault } from '#adapters/sqlite/store-options.ts';
import { append, entryWithKey, readEntry, readJournal, written } from '#hub/model/journal/journal.ts';
import { Refused } from '#hub/model/refusals/refused.ts';

/** What a hub put into its journal before bodies had forms: one entry for each shape that its tests made it write, invented. */
const firstForms = JSON.parse(readFileSync('fixtures/journal-first-forms.json', 'utf8')) as JournalEntry[];

const noonMs = Date.UTC(2026, 0, 5, 12);
const alkalinity = { analyte: 'alkalinity' as const, value: 8.1, given_value: 2.9, given_unit: 'meq/L' };
const tested = { kind: 'test' as const, system: 'display', timeMs: noonMs, recordedMs: noonMs, body: alkalinity };

describe('the journal', () => {
  let dir: string;
  let store: Store;
  let faults: StoreFault[];

  beforeEach(() => {
    dir = mkdtempSync(join(tmpdir(), 'brinekeep-journal-'));
    faults = [];
    const onFault = (fault: StoreFault) => void faults.push(fault);
    store = openStore({ path: join(dir, 'hub.db'), flushMs: 60_000, clock: systemClock, onFault });
  });

  afterEach(() => {
    store.close();
    rmSync(dir, { recursive: true, force: true });
  });

  /** Faults are told in a turn of their own. */
  const faultsTold = () => new Promise((resolve) => setImmediate(resolve));

  test('an entry of an older hub is left out, or a field of it is lost', async () => {
    expect(new Set(firstForms.map(({ kind }) => kind))).toEqual(new Set(journalKinds));
    for (const entry of firstForms) {
      const { corrects: _corrects, ...alone } = entry;
      const [id] = store.commit({ entries: [alone] });
      const [read] = readJournal(store, { id: id!, history: true });
      expect({ kind: read?.kind, timeMs: read?.timeMs, body: read?.body }).toEqual({
        ...{ kind: entry.kind, timeMs: entry.timeMs, body: entry.body },
      });
    }
    await faultsTold();
    expect(faults).toEqual([]);
  });

  test('a test from before units were kept counts in another unit, or an arrival without an event does not count', () => {
    const old = { system: 'display', timeMs: noonMs, recordedMs: noonMs };
    store.commit({
      entries: [
        { ...old, kind: 'test', body: { analyte: 'calcium', value: 420 } },
        { ...old, kind: 'arrival', body: { pieces: 12 } },
      ],
    });
    expect(readJournal(store, { kind: 'test' })[0]?.body).toEqual({
      ...{ analyte: 'calcium', value: 420, given_value: 420, given_unit: 'mg/L' },
    });
    expect(readJournal(store, { kind: 'arrival' })[0]?.body).toMatchObject({ event: 'arrived' });
  });

  test('an entry that cannot be read is guessed at, stops the others, or is gone without a word', async () => {
    const dose = { kind: 'dose' as const, system: 'display', timeMs: noonMs, recordedMs: noonMs };
    store.commit({
      entries: [
        { ...dose, body: { grams: 'a spoon', substance: 'sodium_carbonate' } },
        { ...dose, body: { v: 99, stock: 'soda', ml: 5 } },
        { ...dose, body: { stock: 'soda', ml: 7 } },
      ],
    });
    for (let times = 0; times < 2; times += 1)
      expect(readJournal(store, { kind: 'dose' }).map(({ body }) => body.ml)).toEqual([7]);
    await faultsTold();
    expect(faults.map(({ kind }) => kind)).toEqual(['entry_unreadable', 'entry_unreadable']);
    expect(faults[0]?.detail).toMatch(/entry 1 \(dose\)/);
  });

  test('a submission that comes twice is two entries, or the second is told as new', () => {
    const first = append(store, { ...tested, key: 'test:tap' });
    const second = append(store, {
      ...tested,
      recordedMs: noonMs + 2000,
      body: { ...alkalinity, value: 9 },
      key: 'test:tap',
    });
    expect(first).toMatchObject({ id: 1, isNew: true, entry: { body: alkalinity } });
    expect(second).toEqual({ id: 1, isNew: false, entry: { ...first.entry } });
    // Also once it is taken back: the phone that was out of reach all the time must not put it in again.
    append(store, { ...tested, corrects: first.id, isWithdrawn: true });
    expect(append(store, { ...tested, key: 'test:tap' })).toMatchObject({ id: 1, isNew: false });
    expect(entryWithKey(store, 'test:tap')?.id).toBe(1);
    expect(readJournal(store, { kind: 'test', history: true })).toHaveLength(2);
  });

  test('an entry is kept without what belongs to it, or "kept" is said of one that the disk refused', () => {
    append(store, tested, { documents: [{ name: 'beside', body: 'it' }] });
    expect(store.document('beside')).toBe('it');
    const full = () => {
      throw new Error('database or disk is full');
    };
    const refusal = (() => {
      try {
        append({ ...store, commit: full }, tested);
      } catch (error) {
        return error;
      }
      return undefined;
    })();
    expect(refusal).toBeInstanceOf(Refused);
    expect(refusal).toMatchObject({ problem: 'not_stored', status: 507, exitCode: 1 });
    expect((refusal as Refused).message).toContain('database or disk is full');
  });

  test('what is written now is not read as it was meant', () => {
    const { id, entry } = append(store, tested);
    expect(readJournal(store, { id })).toEqual([entry]);
    // Of the second form: the first may lack what was typed.
    expect(store.journal({ id })[0]?.body).toMatchObject({ v: 2, given_unit: 'meq/L' });
    expect(readEntry({ ...written(tested), id })).toEqual(entry);
  });

  test('a body that no kind has gets into the journal', () => {
    const wrong = { ...tested, body: { ...alkalinity, value: Number.NaN } };
    expect(() => append(store, wrong)).toThrow(/value/);
    expect(store.journal({ history: true })).toEqual([]);
  });
});
