import type { JournalKind, Store } from '#adapters/ports/store.ts';
import { type Analyte, type Metric, metricFacts } from '#rules/quantity/metric.ts';
import { toStoreUnit } from '#rules/quantity/unit.ts';
import type { Config, SystemConfig } from '../config/schema.ts';
import { EntryRefused } from './entry-error.ts';
import type { DoseEntry, TestBody, TestEntry, WaterChangeEntry } from './schemas.ts';

/** Two clocks never agree to the second; a day typed wrong is caught. */
const aheadMostMs = 5 * 60_000;

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

export type Entered = { id: number };

export type Entries = {
  test(entry: TestEntry, nowMs: number): Entered & { body: TestBody };
  dose(entry: DoseEntry, nowMs: number): Entered;
  waterChange(entry: WaterChangeEntry, nowMs: number): Entered;
  /** Takes an entry back: it stays in the journal and no longer counts. */
  withdraw(id: number, by: string, nowMs: number): Entered;
};

export type EntryDeps = {
  config: Config;
  store: Pick<Store, 'commit' | 'journal'>;
  /** A doubt about a test that looks like a slip, in words for the person; undefined when it looks right. */
  question(system: string, analyte: Analyte, value: number, unit: string): string | undefined;
  isKnownSubstance(substance: string): boolean;
  /** After the entry is on disk. */
  entered(kind: JournalKind, system: string, body: Record<string, unknown>, timeMs: number): void;
};

/** What people and machines enter by hand: checked, turned to store units, on disk before the answer. */
export function createEntries(deps: EntryDeps): Entries {
  const systems = new Map<string, SystemConfig>(deps.config.systems.map((system) => [system.id, system]));

  function systemOf(id: string): SystemConfig {
    const system = systems.get(id);
    if (system === undefined) {
      throw new EntryRefused(
        'unknown_system',
        `there is no system "${id}"; there is: ${[...systems.keys()].join(', ')}`,
      );
    }
    return system;
  }

  function timeOf(text: string | undefined, nowMs: number): number {
    const timeMs = text === undefined ? nowMs : Date.parse(text);
    if (timeMs > nowMs + aheadMostMs) throw new EntryRefused('in_the_future', `the time ${text} is still to come`);
    return timeMs;
  }

  function put(
    kind: JournalKind,
    entry: { system: string; key?: string | undefined },
    body: Record<string, unknown>,
    timeMs: number,
    nowMs: number,
  ): Entered {
    const key = entry.key === undefined ? {} : { key: `${kind}:${entry.key}` };
    let ids: number[];
    try {
      ids = deps.store.commit({ entries: [{ kind, timeMs, recordedMs: nowMs, system: entry.system, body, ...key }] });
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      throw new EntryRefused('not_stored', `the entry could not be written to disk and is not kept: ${why}`);
    }
    deps.entered(kind, entry.system, body, timeMs);
    return { id: ids[0] ?? 0 };
  }

  return {
    test(entry, nowMs) {
      systemOf(entry.system);
      const unit = entry.unit ?? metricFacts[entry.analyte].unit;
      const value = inStoreUnit(entry.analyte, entry.value, unit);
      if (entry.confirmed !== true) {
        const question = deps.question(entry.system, entry.analyte, entry.value, unit);
        if (question !== undefined) throw new EntryRefused('questioned', question);
      }
      const [low, high] = testRange[entry.analyte];
      if (!(value >= low && value <= high)) {
        const store = metricFacts[entry.analyte].unit;
        throw new EntryRefused(
          'out_of_range',
          `${entry.analyte}: found ${entry.value} ${unit}, allowed ${low} to ${high} ${store}. Is the unit right?`,
        );
      }
      const zero = inStoreUnit(entry.analyte, 0, unit);
      const body: TestBody = {
        analyte: entry.analyte,
        value,
        given_value: entry.value,
        given_unit: unit,
        ...(entry.sd === undefined ? {} : { sd: inStoreUnit(entry.analyte, entry.sd, unit) - zero }),
        ...(entry.by === undefined ? {} : { by: entry.by }),
        ...(entry.note === undefined ? {} : { note: entry.note }),
      };
      return { ...put('test', entry, body, timeOf(entry.time, nowMs), nowMs), body };
    },
    dose(entry, nowMs) {
      const system = systemOf(entry.system);
      if (entry.stock !== undefined && !system.stocks.some((stock) => stock.id === entry.stock)) {
        const known = system.stocks.map((stock) => stock.id).join(', ') || 'none is configured';
        throw new EntryRefused('unknown_stock', `${system.id} has no stock "${entry.stock}"; it has: ${known}`);
      }
      if (entry.substance !== undefined && !deps.isKnownSubstance(entry.substance)) {
        throw new EntryRefused('unknown_substance', `no substance is called "${entry.substance}"`);
      }
      const { system: _system, time: _time, key: _key, ...body } = entry;
      return put('dose', entry, body, timeOf(entry.time, nowMs), nowMs);
    },
    waterChange(entry, nowMs) {
      const system = systemOf(entry.system);
      if (entry.volume_l > system.volume_l) {
        throw new EntryRefused(
          'out_of_range',
          `volume_l: found ${entry.volume_l}, the whole system holds ${system.volume_l} litres`,
        );
      }
      const { system: _system, time: _time, key: _key, ...body } = entry;
      return put('water_change', entry, body, timeOf(entry.time, nowMs), nowMs);
    },
    withdraw(id, by, nowMs) {
      const old = deps.store.journal({}).find((entry) => entry.id === id);
      if (old === undefined || old.kind === 'alarm') {
        throw new EntryRefused('out_of_range', `there is no entry ${id} that can be taken back`);
      }
      const ids = deps.store.commit({
        entries: [
          {
            ...old,
            recordedMs: nowMs,
            body: { ...old.body, withdrawn_by: by },
            corrects: id,
            isWithdrawn: true,
            key: `withdraw:${id}`,
          },
        ],
      });
      deps.entered(old.kind, old.system, old.body, old.timeMs);
      return { id: ids[0] ?? 0 };
    },
  };
}

function inStoreUnit(metric: Metric, value: number, unit: string): number {
  if (unit === metricFacts[metric].unit) return value;
  try {
    return toStoreUnit(metric, value, unit);
  } catch (error) {
    throw new EntryRefused('unknown_unit', error instanceof Error ? error.message : String(error));
  }
}
