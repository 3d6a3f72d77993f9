import type { JournalEntry, JournalKind, KeptEntry, Store } from '#adapters/ports/store.ts';
import { type Analyte, type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';
import type { Config, SystemConfig } from '../../model/config/schema.ts';
import { type EntryDoubt, Questioned } from '../../model/refusals/questioned.ts';
import { Refused } from '../../model/refusals/refused.ts';
import { gravityGiven, salinityOfGravity, sgUnit } from './gravity-entry.ts';
import { savedDose, savedPlan, savedRefill, savedTest, savedWaterChange } from './saved-words.ts';
import type { DoseEntry, PlanEntry, RefillEntry, TestBody, TestEntry, WaterChangeEntry } from './schemas.ts';

/** Two clocks never agree to the second; a day typed wrong is caught. */
const aheadMostMs = 5 * 60_000;
/** A board whose clock woke in 1970 has dated the entry, not a person. */
const oldestMs = Date.UTC(2000, 0, 1);

/** What a test can read at all, in the store unit: beyond it the unit or a digit is wrong. common practice, no published source */
const testRange: Record<Analyte, readonly [low: number, high: number]> = {
  alkalinity: [0, 25],
  calcium: [0, 1000],
  magnesium: [0, 3000],
  nitrate: [0, 500],
  phosphate: [0, 20],
  potassium: [0, 1000],
  iodide: [0, 1000],
  salinity: [0, 60],
  ph: [4, 11],
  temperature: [-2, 45],
};

/** No kit reads to a millionth of its range. */
const leastSdShare = 1e-6;

/** The hub's own record; nobody entered it, so nobody takes it back. */
const ownKinds: ReadonlySet<JournalKind> = new Set(['alarm', 'advice']);

/** `saved` is what was saved in words, with its unit. */
export type Entered = { id: number; saved: string };

export type Entries = {
  test(entry: TestEntry, nowMs: number): Entered & { body: TestBody };
  dose(entry: DoseEntry, nowMs: number): Entered;
  waterChange(entry: WaterChangeEntry, nowMs: number): Entered;
  /** Changes what is dosed of a stock every day, from the entry's time on. */
  plan(entry: PlanEntry, nowMs: number): Entered;
  refill(entry: RefillEntry, nowMs: number): Entered;
  /** Takes an entry back: it stays in the journal and no longer counts. */
  withdraw(id: number, by: string, nowMs: number): { id: number };
};

export type EntryDeps = {
  config: Config;
  store: Pick<Store, 'commit' | 'journal'>;
  /** A doubt about a test that looks like a slip; undefined when it looks right. `value` in `unit`, as typed. */
  question(system: string, analyte: Analyte, value: number, unit: string): EntryDoubt | undefined;
  isKnownSubstance(substance: string): boolean;
  /** After the entry is on disk. */
  entered(kind: JournalKind, system: string, body: Record<string, unknown>, timeMs: number): void;
};

type Common = {
  system: string;
  time?: string | undefined;
  key?: string | undefined;
  corrects?: number | undefined;
};

/** What is kept of an entry beside its place and time. */
function bodyOf<Entry extends Common>(entry: Entry): Omit<Entry, keyof Common> {
  const { system: _system, time: _time, key: _key, corrects: _corrects, ...body } = entry;
  return body;
}

/** What people and machines enter by hand: checked, turned to store units, on disk before the answer. */
export function createEntries(deps: EntryDeps): Entries {
  const systems = new Map<string, SystemConfig>(deps.config.systems.map((system) => [system.id, system]));

  function systemOf(id: string): SystemConfig {
    const system = systems.get(id);
    if (system === undefined) {
      throw new Refused('unknown_system', `there is no system "${id}"; there is: ${[...systems.keys()].join(', ')}`);
    }
    return system;
  }

  function stockOf(system: SystemConfig, id: string): SystemConfig['stocks'][number] {
    const stock = system.stocks.find((each) => each.id === id);
    if (stock !== undefined) return stock;
    const known = system.stocks.map((each) => each.id).join(', ') || 'none is configured';
    throw new Refused('unknown_stock', `${system.id} has no stock "${id}"; it has: ${known}`);
  }

  function timeOf(text: string | undefined, nowMs: number): number {
    const timeMs = text === undefined ? nowMs : Date.parse(text);
    if (timeMs > nowMs + aheadMostMs) throw new Refused('in_the_future', `the time ${text} is still to come`);
    if (text !== undefined && timeMs < oldestMs)
      throw new Refused('out_of_range', `the time ${text} is before the year 2000`);
    return timeMs;
  }

  /** On disk when this returns. */
  function keep(entry: JournalEntry): number {
    try {
      return deps.store.commit({ entries: [entry] })[0] ?? 0;
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      throw new Refused('not_stored', `the entry could not be written to disk and is not kept: ${why}`);
    }
  }

  /** The entry that was kept under this key before, when this one is its repeat. */
  function olderOf(id: number, entry: JournalEntry): KeptEntry | undefined {
    if (entry.key === undefined) return undefined;
    const { kind, system, timeMs } = entry;
    const sameTime = deps.store.journal({ kind, system, fromMs: timeMs, toMs: timeMs + 1, history: true });
    if (sameTime.some((each) => each.id === id && each.recordedMs === entry.recordedMs)) return undefined;
    return deps.store.journal({ history: true }).find((each) => each.id === id);
  }

  function put(
    kind: JournalKind,
    given: Common,
    body: Record<string, unknown>,
    nowMs: number,
  ): { id: number; body: Record<string, unknown> } {
    const timeMs = timeOf(given.time, nowMs);
    const key: { key?: string } = given.key === undefined ? {} : { key: `${kind}:${given.key}` };
    // A correction that is sent twice finds its old entry replaced already.
    const repeated = given.corrects === undefined ? undefined : withKey(kind, given.system, key.key);
    if (repeated !== undefined) return repeated;
    const corrected = given.corrects === undefined ? undefined : correctable(kind, given.system, given.corrects);
    const corrects = corrected === undefined ? {} : { corrects: corrected.id };
    const entry: JournalEntry = { kind, timeMs, recordedMs: nowMs, system: given.system, body, ...key, ...corrects };
    const id = keep(entry);
    const older = olderOf(id, entry);
    // A repeat tells nothing: a dose that is learned twice would be expected to lift the water twice.
    if (older !== undefined) return { id, body: older.body };
    if (corrected === undefined) deps.entered(kind, given.system, body, timeMs);
    else tellAfterChange(corrected, timeMs, nowMs);
    return { id, body };
  }

  function withKey(kind: JournalKind, system: string, key: string | undefined): KeptEntry | undefined {
    if (key === undefined) return undefined;
    return deps.store.journal({ kind, system, history: true }).find((entry) => entry.key === key);
  }

  /** An entry that counts, of the same kind and system. */
  function correctable(kind: JournalKind, system: string, id: number): KeptEntry {
    const old = deps.store.journal({ kind, system }).find((entry) => entry.id === id);
    if (old === undefined) {
      throw new Refused('unknown_entry', `there is no ${kind.replace('_', ' ')} ${id} of ${system} to correct`);
    }
    return old;
  }

  /**
   * What counts now is another test than before: the rules must not judge the water by a number that was taken back. It
   * speaks for the moment of that number, since a test older than the last one known says nothing about now.
   */
  function tellAfterChange(old: KeptEntry, timeMs: number, nowMs: number): void {
    const newest = old.kind === 'test' ? newestTest(old.system, old.body['analyte']) : undefined;
    if (newest === undefined) deps.entered('note', old.system, {}, nowMs);
    else deps.entered('test', old.system, newest.body, Math.max(newest.timeMs, old.timeMs, timeMs));
  }

  return {
    test(entry, nowMs) {
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
      const body: TestBody = {
        analyte: entry.analyte,
        value,
        given_value: entry.value,
        given_unit: unit,
        ...(isGravity ? gravityGiven(entry) : {}),
        ...(sd === undefined ? {} : { sd }),
        ...(entry.by === undefined ? {} : { by: entry.by }),
        ...(entry.note === undefined ? {} : { note: entry.note }),
      };
      const kept = put('test', entry, body, nowMs) as { id: number; body: TestBody };
      return { ...kept, saved: savedTest(entry.analyte, kept.body.given_value, kept.body.given_unit) };
    },
    dose(entry, nowMs) {
      const system = systemOf(entry.system);
      if (entry.stock !== undefined) stockOf(system, entry.stock);
      if (entry.substance !== undefined && !deps.isKnownSubstance(entry.substance)) {
        throw new Refused('unknown_substance', `no substance is called "${entry.substance}"`);
      }
      const body = bodyOf(entry);
      return { id: put('dose', entry, body, nowMs).id, saved: savedDose(system, entry) };
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
      return { id: put('water_change', entry, body, nowMs).id, saved: savedWaterChange(entry.volume_l) };
    },
    plan(entry, nowMs) {
      const system = systemOf(entry.system);
      stockOf(system, entry.stock);
      const body = bodyOf(entry);
      const saved = savedPlan(system, entry.stock, entry.ml_per_day);
      return { id: put('plan', entry, body, nowMs).id, saved };
    },
    refill(entry, nowMs) {
      const system = systemOf(entry.system);
      const stock = stockOf(system, entry.stock);
      const ml = entry.ml ?? stock.container_ml;
      if (ml === undefined) {
        throw new Refused('out_of_range', `ml: missing, and no container_ml is configured for "${entry.stock}"`);
      }
      const body = bodyOf(entry);
      return { id: put('refill', entry, { ...body, ml }, nowMs).id, saved: savedRefill(system, entry.stock, ml) };
    },
    withdraw(id, by, nowMs) {
      const old = deps.store.journal({}).find((entry) => entry.id === id);
      if (old === undefined || ownKinds.has(old.kind)) {
        throw new Refused('unknown_entry', `there is no entry ${id} that can be taken back`);
      }
      const withdrawn = keep({
        ...{ kind: old.kind, timeMs: old.timeMs, recordedMs: nowMs, system: old.system },
        ...{ body: { ...old.body, withdrawn_by: by }, corrects: id, isWithdrawn: true, key: `withdraw:${id}` },
      });
      tellAfterChange(old, old.timeMs, nowMs);
      return { id: withdrawn };
    },
  };

  function newestTest(system: string, analyte: unknown): KeptEntry | undefined {
    return deps.store
      .journal({ kind: 'test', system, order: 'newest' })
      .find((entry) => entry.body['analyte'] === analyte);
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
