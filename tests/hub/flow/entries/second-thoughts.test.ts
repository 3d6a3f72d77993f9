import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { systemClock } from '#adapters/clock/system-clock.ts';
import type { KeptEntry, Store } from '#adapters/ports/store.ts';
import { openStore } from '#adapters/sqlite/open-store.ts';
import { createEntries, type EntryDeps } from '#hub/flow/entries/enter.ts';
import { Refused } from '#hub/model/refusals/refused.ts';
import type { Hub } from '#hub/room/hub.ts';
import type { StandingAlarm } from '#rules/bands/room.ts';
import { configOf, getJson, postJson, roomText, scratchRoom, startHubHere } from '../../../servers/hub-process.ts';

describe('second thoughts about an entry', () => {
  let scratch: ReturnType<typeof scratchRoom>;
  let hub: Hub | undefined;
  let store: Store | undefined;

  beforeEach(() => {
    scratch = scratchRoom();
  });

  afterEach(async () => {
    await hub?.stop();
    store?.close();
    hub = undefined;
    store = undefined;
    scratch.remove();
  });

  async function enterTest(value: number): Promise<number> {
    const test = { system: 'display', analyte: 'alkalinity', value, confirmed: true };
    const answer = await postJson(`${hub?.url}/api/tests`, test);
    expect(answer.status).toBe(201);
    return ((await answer.json()) as { id: number }).id;
  }

  const outOfBand = async () =>
    (await getJson<StandingAlarm[]>(`${hub?.url}/api/alarms`)).filter(
      ({ rule, isStanding }) => rule === 'out_of_band' && isStanding,
    );

  test('the alarm of a slip of the pen stands after the slip was taken back', async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
    await enterTest(8.1);
    expect(await outOfBand()).toEqual([]);
    const slip = await enterTest(11.8);
    expect(await outOfBand()).toHaveLength(1);
    expect((await postJson(`${hub.url}/api/entries/${slip}/withdraw`, {})).status).toBe(201);
    expect(await outOfBand()).toEqual([]);
  });

  test('a test that was taken back raises its alarm once more', async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
    await enterTest(8.1);
    const slip = await enterTest(11.8);
    await enterTest(8.2);
    expect(await outOfBand()).toEqual([]);
    await postJson(`${hub.url}/api/entries/${slip}/withdraw`, {});
    expect(await outOfBand()).toEqual([]);
  });

  const alkalinity = async () =>
    (await getJson<KeptEntry[]>(`${hub?.url}/api/entries?kind=test`)).map(({ body, timeMs }) => ({
      value: body['value'],
      note: body['note'],
      timeMs,
    }));

  test('a corrected test counts beside the one that it replaces, or its alarm stays', async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
    await enterTest(8.1);
    const slip = await enterTest(11.8);
    expect(await outOfBand()).toHaveLength(1);
    const timeMs = Date.now() - 3_600_000;
    const right = {
      ...{ system: 'display', analyte: 'alkalinity', value: 8.2, note: 'read again', corrects: slip, key: 'once' },
      time: new Date(timeMs).toISOString(),
    };
    const first = await postJson(`${hub.url}/api/tests`, right);
    expect(first.status).toBe(201);
    // A phone that did not hear the answer sends it again.
    const again = await postJson(`${hub.url}/api/tests`, right);
    expect(await again.json()).toMatchObject({ id: ((await first.json()) as { id: number }).id });
    expect(await alkalinity()).toEqual([
      expect.objectContaining({ value: 8.1 }),
      { value: 8.2, note: 'read again', timeMs },
    ]);
    expect(await outOfBand()).toEqual([]);
  });

  test('a test is corrected into a dose, or one of another tank, or one that was taken back', async () => {
    hub = await startHubHere(configOf(roomText(scratch.dir)));
    const id = await enterTest(8.1);
    const dose = { system: 'display', substance: 'sodium_bicarbonate', grams: 1, corrects: id };
    expect((await postJson(`${hub.url}/api/doses`, dose)).status).toBe(404);
    await postJson(`${hub.url}/api/entries/${id}/withdraw`, {});
    const late = { system: 'display', analyte: 'alkalinity', value: 8.2, corrects: id };
    expect((await postJson(`${hub.url}/api/tests`, late)).status).toBe(404);
    expect(await alkalinity()).toEqual([]);
  });

  function entriesOn(kept: Pick<Store, 'commit' | 'journal'>, learned: string[] = []) {
    const stocks = [{ id: 'soda', name: 'Soda', substance: 'sodium_carbonate', grams_per_litre: 53 }];
    const system = { id: 'display', name: 'Display', volume_l: 420, bands: { alkalinity: { low: 7.5, high: 9 } } };
    const deps: EntryDeps = {
      config: configOf(roomText(scratch.dir, { systems: [{ ...system, stocks }] })),
      store: kept,
      question: () => undefined,
      isKnownSubstance: () => true,
      entered: (kind) => learned.push(kind),
    };
    return createEntries(deps);
  }

  test('a dose that the phone sent twice is expected to lift the water twice', () => {
    store = openStore({ path: `${scratch.dir}/data/entries.db`, flushMs: 1000, clock: systemClock });
    const learned: string[] = [];
    const entries = entriesOn(store, learned);
    const dose = { system: 'display', stock: 'soda', ml: 40, key: 'tap' };
    const startMs = Date.UTC(2026, 0, 5);
    const first = entries.dose(dose, startMs);
    expect(entries.dose(dose, startMs + 2000)).toEqual(first);
    expect(entries.dose({ ...dose, time: '2026-01-05T00:00:00Z' }, startMs + 4000)).toEqual(first);
    expect(learned).toEqual(['dose']);
    entries.dose({ ...dose, key: 'another tap' }, startMs + 5000);
    expect(learned).toEqual(['dose', 'dose']);
  });

  test('a dose dated by a board that woke in 1970, or tomorrow, is stored', () => {
    store = openStore({ path: `${scratch.dir}/data/entries.db`, flushMs: 1000, clock: systemClock });
    const entries = entriesOn(store);
    const dose = { system: 'display', stock: 'soda', ml: 40 };
    const nowMs = Date.UTC(2026, 0, 5);
    expect(() => entries.dose({ ...dose, time: '1970-01-01T00:16:40Z' }, nowMs)).toThrow(/before the year 2000/);
    expect(() => entries.dose({ ...dose, time: '2026-01-06T00:00:00Z' }, nowMs)).toThrow(/in the future/);
    expect(store.journal({ kind: 'dose' })).toEqual([]);
  });

  test('"stored" is said of an entry, or of its withdrawal, that the disk refused', () => {
    const learned: string[] = [];
    const full = () => {
      throw new Error('database or disk is full');
    };
    store = openStore({ path: `${scratch.dir}/data/entries.db`, flushMs: 1000, clock: systemClock });
    const { id } = entriesOn(store).test({ system: 'display', analyte: 'alkalinity', value: 8 }, 1);
    const entries = entriesOn({ ...store, commit: full }, learned);
    const refusedAs = (enter: () => unknown) => {
      try {
        enter();
      } catch (error) {
        return error instanceof Refused ? error.problem : String(error);
      }
      return 'taken';
    };
    expect(refusedAs(() => entries.test({ system: 'display', analyte: 'alkalinity', value: 8 }, 1000))).toBe(
      'not_stored',
    );
    expect(refusedAs(() => entries.dose({ system: 'display', stock: 'soda', ml: 4 }, 1000))).toBe('not_stored');
    expect(refusedAs(() => entries.waterChange({ system: 'display', volume_l: 40 }, 1000))).toBe('not_stored');
    expect(refusedAs(() => entries.withdraw(id, 'Ana', 1000))).toBe('not_stored');
    expect(learned).toEqual([]);
  });
});
