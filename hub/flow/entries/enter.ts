import type { JournalKind, Store } from '#adapters/ports/store.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type Analyte, type Metric, metricFacts, testRange } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';
import type { Config, SystemConfig } from '../../model/config/schema.ts';
import type {
  DoseEntry,
  PlanEntry,
  RefillEntry,
  TestEntry,
  WaterChangeEntry,
} from '../../model/entries/entry-schemas.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import {
  append,
  type Entry,
  entryWithKey,
  type NewEntry,
  ofKind,
  readJournal,
  withdrawalOf,
} from '../../model/journal/journal.ts';
import type { TitrationRecord } from '../../model/journal/titration-record.ts';
import { happenedMs } from '../../model/refusals/happened.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import { type EntryDoubt, Questioned } from '../../model/refusals/questioned.ts';
import { Refused } from '../../model/refusals/refused.ts';
import { correctedBody, type Kits, noKit } from '../kits/kits.ts';
import { gravityGiven, salinityOfGravity, sgUnit } from './gravity-entry.ts';
import { savedDose, savedPlan, savedRefill, savedTest, savedWaterChange } from './saved-words.ts';

/** No kit reads to a millionth of its range. */
const leastSdShare = 1e-6;

/** The hub's own record; nobody entered it, so nobody takes it back. */
const ownKinds: ReadonlySet<JournalKind> = new Set(['alarm', 'advice']);

/** `saved` is what was saved in words, with its unit; `timeMs` when it happened. */
export type Entered = { id: number; saved: string; timeMs: number };

export type Entries = {
  /** @param titration  the whole run, of a test that the hub has guided */
  test(entry: TestEntry, nowMs: number, titration?: TitrationRecord): Entered & { body: BodyOf<'test'> };
  dose(entry: DoseEntry, nowMs: number): Entered;
  waterChange(entry: WaterChangeEntry, nowMs: number): Entered;
  /** Changes what is dosed of a stock every day, from the entry's time on. */
  plan(entry: PlanEntry, nowMs: number): Entered;
  refill(entry: RefillEntry, nowMs: number): Entered;
  /** Takes an entry back: it stays in the journal and no longer counts. */
  withdraw(id: number, by: string, nowMs: number): { id: number };
};

type EnteredKind = 'test' | 'dose' | 'water_change' | 'plan' | 'refill';

export type EntryDeps = {
  config: Config;
  store: Pick<Store, 'commit' | 'journal'>;
  /** A doubt about a test that looks like a slip; undefined when it looks right. `value` in `unit`, as typed. */
  question(system: string, analyte: Analyte, value: number, unit: string): EntryDoubt | undefined;
  isKnownSubstance(substance: string): boolean;
  /** What is known of the kit of a test; absent where there are no kits. */
  kitOfTest?: Kits['ofTest'];
  /** Takes back an entry of which more is known than the journal says; undefined when that is all there is of it. */
  takeBack?(entry: Entry, by: string, nowMs: number): number | undefined;
  /**
   * After the entry is on disk. What was taken back or corrected comes as the test that counts now, else as a note.
   *
   * @param test  its body, where it is one
   */
  entered(kind: JournalKind, system: string, test: BodyOf<'test'> | undefined, timeMs: number): void;
};

type Common = {
  system: string;
  time?: string | undefined;
  key?: string | undefined;
  corrects?: number | undefined;
};

const entered = ({ id, timeMs }: Entry, saved: string): Entered => ({ id, timeMs, saved });

/** What is kept of an entry beside its place and time. */
function bodyOf<Entry extends Common>(entry: Entry): Omit<Entry, keyof Common> {
  const { system: _system, time: _time, key: _key, corrects: _corrects, ...body } = entry;
  return body;
}

/** What people and machines enter by hand: checked, turned to store units, on disk before the answer. */
export function createEntries(deps: EntryDeps): Entries {
  const { store } = deps;
  const systems = new Map<string, SystemConfig>(deps.config.systems.map((system) => [system.id, system]));

  function systemOf(id: string): SystemConfig {
    const system = systems.get(id);
    if (system === undefined) throw noSystem(id, deps.config.systems);
    return system;
  }

  function stockOf(system: SystemConfig, id: string): SystemConfig['stocks'][number] {
    const stock = system.stocks.find((each) => each.id === id);
    if (stock !== undefined) return stock;
    const known = system.stocks.map((each) => each.id).join(', ') || 'none is configured';
    throw new Refused('unknown_stock', `${system.id} has no stock "${id}"; it has: ${known}`);
  }

  function put<Kind extends EnteredKind>(kind: Kind, given: Common, body: BodyOf<Kind>, nowMs: number): Entry<Kind> {
    const timeMs = happenedMs(given.time, nowMs);
    const key = given.key === undefined ? {} : { key: `${kind}:${given.key}` };
    // A correction that is sent twice finds its old entry replaced already.
    const isSent = given.corrects !== undefined && key.key !== undefined && entryWithKey(store, key.key) !== undefined;
    const corrected =
      given.corrects === undefined || isSent ? undefined : correctable(kind, given.system, given.corrects);
    const corrects = corrected === undefined ? {} : { corrects: corrected.id };
    const entry = { kind, timeMs, recordedMs: nowMs, system: given.system, body, ...key, ...corrects };
    const { isNew, entry: kept } = append(store, entry as NewEntry<Kind>);
    // A repeat tells nothing: a dose that is learned twice would be expected to lift the water twice.
    if (!isNew) return kept;
    if (corrected === undefined)
      deps.entered(kind, kept.system, ofKind<'test', Entry>([kept as Entry], 'test')[0]?.body, timeMs);
    else tellAfterChange(corrected, timeMs, nowMs);
    return kept;
  }

  /** An entry that counts, of the same kind and system. */
  function correctable(kind: EnteredKind, system: string, id: number): Entry {
    const old = readJournal(store, { id, kind, system })[0];
    if (old === undefined) {
      throw new Refused('unknown_entry', `there is no ${kind.replace('_', ' ')} ${id} of ${system} to correct`);
    }
    return old;
  }

  /**
   * What counts now is another test than before: the rules must not judge the water by a number that was taken back. It
   * speaks for the moment of that number, since a test older than the last one known says nothing about now.
   */
  function tellAfterChange(old: Entry, timeMs: number, nowMs: number): void {
    const newest = old.kind === 'test' ? newestTest(old.system, old.body.analyte) : undefined;
    if (newest === undefined) deps.entered('note', old.system, undefined, nowMs);
    else deps.entered('test', old.system, newest.body, Math.max(newest.timeMs, old.timeMs, timeMs));
  }

  return {
    test(entry, nowMs, titration) {
      systemOf(entry.system);
      const unit = entry.unit ?? metricFacts[entry.analyte].unit;
      const isGravity = entry.analyte === 'salinity' && unit === sgUnit;
      if (entry.confirmed !== true) {
        const doubt = deps.question(entry.system, entry.analyte, entry.value, unit);
        if (doubt !== undefined) throw new Questioned(doubt);
      }
      const value = isGravity ? salinityOfGravity(entry) : inStoreUnit(entry.analyte, entry.value, unit);
      const [low, high] = testRange[entry.analyte];
      if (!(value >= low && value <= high)) {
        const store = metricFacts[entry.analyte].unit;
        throw new Refused(
          'out_of_range',
          `${entry.analyte}: found ${entry.value} ${unit}, allowed ${low} to ${high} ${store}. Is the unit right?`,
        );
      }
      const sd = entry.sd === undefined ? undefined : sdInStoreUnit(entry, entry.sd, unit);
      // An uncertainty as wide as all that can be read says nothing, and one of nothing claims to be perfect.
      if (sd !== undefined && !(sd >= (high - low) * leastSdShare && sd <= high - low)) {
        const store = metricFacts[entry.analyte].unit;
        throw new Refused(
          'out_of_range',
          `sd: found ${entry.sd} ${unit}, allowed ${(high - low) * leastSdShare} to ${high - low} ${store}`,
        );
      }
      const body: BodyOf<'test'> = {
        analyte: entry.analyte,
        value,
        given_value: entry.value,
        given_unit: unit,
        ...(isGravity ? gravityGiven(entry) : {}),
        ...defined({ sd, titration }),
        // Said, so that no correction of a kit takes it for one of its tests.
        ...(entry.kit === noKit ? { kit: { id: noKit, bias: 0, bias_sd: 0 } } : {}),
        ...defined({ by: entry.by, note: entry.note }),
      };
      const atMs = happenedMs(entry.time, nowMs);
      const kit = titration === undefined ? deps.kitOfTest?.(entry.kit, entry.analyte, atMs) : undefined;
      const kept = put('test', entry, kit === undefined ? body : correctedBody(body, kit), nowMs);
      const { body: keptBody } = kept;
      const saved = savedTest(keptBody, kit?.name);
      return { ...entered(kept, saved), body: keptBody };
    },
    dose(entry, nowMs) {
      const system = systemOf(entry.system);
      if (entry.stock !== undefined) stockOf(system, entry.stock);
      if (entry.substance !== undefined && !deps.isKnownSubstance(entry.substance)) {
        throw new Refused('unknown_substance', `no substance is called "${entry.substance}"`);
      }
      const body = bodyOf(entry);
      return entered(put('dose', entry, body, nowMs), savedDose(system, entry));
    },
    waterChange(entry, nowMs) {
      const system = systemOf(entry.system);
      if (entry.volume_l > system.volume_l) {
        throw new Refused(
          'out_of_range',
          `volume_l: found ${entry.volume_l}, the whole system holds ${system.volume_l} litres`,
        );
      }
      const body = bodyOf(entry);
      return entered(put('water_change', entry, body, nowMs), savedWaterChange(entry.volume_l));
    },
    plan(entry, nowMs) {
      const system = systemOf(entry.system);
      stockOf(system, entry.stock);
      const body = bodyOf(entry);
      const saved = savedPlan(system, entry.stock, entry.ml_per_day);
      return entered(put('plan', entry, body, nowMs), saved);
    },
    refill(entry, nowMs) {
      const system = systemOf(entry.system);
      const stock = stockOf(system, entry.stock);
      const ml = entry.ml ?? stock.container_ml;
      if (ml === undefined) {
        throw new Refused('out_of_range', `ml: missing, and no container_ml is configured for "${entry.stock}"`);
      }
      const body = bodyOf(entry);
      return entered(put('refill', entry, { ...body, ml }, nowMs), savedRefill(system, entry.stock, ml));
    },
    withdraw(id, by, nowMs) {
      const old = readJournal(store, { id })[0];
      if (old === undefined || ownKinds.has(old.kind)) {
        throw new Refused('unknown_entry', `there is no entry ${id} that can be taken back`);
      }
      const withdrawn = deps.takeBack?.(old, by, nowMs) ?? append(store, withdrawalOf(old, nowMs, by)).id;
      tellAfterChange(old, old.timeMs, nowMs);
      return { id: withdrawn };
    },
  };

  function newestTest(system: string, analyte: Analyte): Entry<'test'> | undefined {
    return readJournal(store, { kind: 'test', system, order: 'newest' }).find(({ body }) => body.analyte === analyte);
  }
}

/** A width and not a place: that of a hydrometer is what it makes of the salinity there. */
function sdInStoreUnit(entry: TestEntry, sd: number, unit: string): number {
  if (entry.analyte === 'salinity' && unit === sgUnit)
    return salinityOfGravity({ ...entry, value: entry.value + sd }) - salinityOfGravity(entry);
  return inStoreUnit(entry.analyte, sd, unit) - inStoreUnit(entry.analyte, 0, unit);
}

function inStoreUnit(metric: Metric, value: number, unit: string): number {
  if (unit === metricFacts[metric].unit) return value;
  try {
    return toStoreUnit(metric, value, unit);
  } catch (error) {
    throw new Refused('unknown_unit', error instanceof Error ? error.message : String(error));
  }
}
