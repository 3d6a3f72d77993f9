import { join } from 'node:path';
import type { OutboxItem, Store } from '#adapters/ports/store.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import type { ClockMove } from '#rules/clock/clock-move.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import type { Entries } from '../../flow/entries/enter.ts';
import type { Config } from '../../model/config/schema.ts';
import type { PrepareEntry } from '../../model/entries/arrival-schemas.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import type { Ways } from '../notices/notice-items.ts';
import { createPhotos, type Photos } from '../pieces/photos.ts';
import { createPieces, type Pieces } from '../pieces/pieces.ts';
import { type Batches, createBatches } from '../water/batches.ts';
import { createWaterChanges, type WaterChanges } from '../water/water-changes.ts';
import { type ArrivalDay, createArrivalDay } from './arrival-day.ts';
import { type ArrivalMessage, answerArrivalMessage } from './arrival-message.ts';
import { type Arrivals, createArrivals } from './arrivals.ts';
import { createArrivalsMemory } from './arrivals-memory.ts';
import { type Care, createCare } from './care.ts';
import { loadPests, type Pests } from './pest-file.ts';
import { type Prepared, prepareArrival } from './prepare-arrival.ts';
import { loadProtocols, type Protocols } from './protocol-files.ts';
import type { Reminder } from './reminders.ts';
import { createRunningChecklists } from './running-checklists.ts';
import { createRuns, type Runs } from './runs.ts';

export type Livestock = {
  arrivals: Arrivals;
  runs: Runs;
  care: Care;
  batches: Batches;
  changes: WaterChanges;
  pieces: Pieces;
  photos: Photos;
  protocols: Protocols;
  pests: Pests;
  /** The day of an arrival, where what was said at one step is known at the next. */
  day: ArrivalDay;
  /** Says what timers have to say by now, and once a day the day's work. Called about every second. */
  tick(nowMs: number): void;
  /** The clock has moved: timers that run move with it. Nothing is stored until `keep`. */
  moveTimers(move: ClockMove): void;
  keep(): void;
  /** A line from a phone; undefined when it is not about an arrival. */
  fromPhone(text: string, nowMs: number): ArrivalMessage | undefined;
};

export type LivestockParts = {
  config: Config;
  store: Store;
  ways: Ways;
  /** In which sentences speak. */
  units(): KeepersUnits;
  entries: Pick<Entries, 'waterChange'>;
  demandAt(system: string, timeMs: number): DemandEstimate | undefined;
  learned(system: string, timeMs: number): void;
  remind(reminder: Reminder, nowMs: number): void;
  /** Messages are on disk: they may go out. */
  stored(): void;
  unstored(items: readonly OutboxItem[], error: Error): void;
  warn(line: string): void;
};

/** Where new corals, their water and their pieces are taken in: all parts of it, on one store. */
export function createLivestock(parts: LivestockParts): Livestock {
  const { config, store, ways, entries } = parts;
  const protocols = loadProtocols(config.protocols_dir);
  const pests = loadPests(config.pests_file);
  for (const problem of [...protocols.problems, ...pests.problems]) parts.warn(problem);
  const memory = createArrivalsMemory(store, {
    stored: parts.stored,
    unstored: parts.unstored,
    damaged: (name) =>
      parts.warn(`the arrivals could not be read; what was there is kept as ${name}, and none are known`),
  });
  const checklists = createRunningChecklists(memory, ways);
  const batches = createBatches({ config, store, units: parts.units });
  const runs = createRuns({ config, store, ways, memory, checklists, batches, protocols, units: parts.units });
  const arrivals = createArrivals({ config, store, memory, checklists, pests, learned: parts.learned });
  const pieces = createPieces(config, store);
  function reckon(entry: PrepareEntry, nowMs: number): Prepared {
    if (config.systems.some(({ id }) => id === entry.system)) return prepareArrival({ store, batches }, entry, nowMs);
    throw noSystem(entry.system, config.systems);
  }
  const care = createCare({
    config,
    store,
    memory,
    pests,
    demandAt: parts.demandAt,
    remind: parts.remind,
    units: parts.units,
  });
  return {
    arrivals,
    runs,
    care,
    batches,
    protocols,
    pests,
    changes: createWaterChanges({ config, store, entries, batches }),
    pieces,
    photos: createPhotos(join(config.data_dir, 'photos')),
    day: createArrivalDay({ arrivals, runs, pieces, batches, reckon }),
    tick(nowMs) {
      checklists.tick(nowMs);
      care.tick(nowMs);
    },
    moveTimers: checklists.moveTimers,
    keep: () => memory.keepOrSay(memory.state(), {}),
    fromPhone: (text, nowMs) => answerArrivalMessage({ arrivals, runs }, text, nowMs, config.site.timezone),
  };
}
