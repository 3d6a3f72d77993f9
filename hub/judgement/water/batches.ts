import type { Store } from '#adapters/ports/store.ts';
import { type BatchMatch, batchMatch, matchedMetrics, matchTolerances } from '#rules/arrivals/new-water.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { type MixedWater, mixedMetrics } from '#rules/mixing/mixed-water.ts';
import { type SaltStrength, saltStrengthFromBatches } from '#rules/mixing/salt-strength.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { Config } from '../../model/config/schema.ts';
import type { BatchEntry, BatchMoreEntry, BatchWaterEntry } from '../../model/entries/arrival-schemas.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { append, type Entry, entryWithKey, readJournal } from '../../model/journal/journal.ts';
import { happenedMs } from '../../model/refusals/happened.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import { orRefused, Refused } from '../../model/refusals/refused.ts';
import { waterNow } from './water-now.ts';

/** Salt water made up, as the journal tells it. */
export type Batch = {
  id: string;
  system: string;
  madeMs: number;
  litres: number;
  salt: string;
  salt_g: number;
  probesOf?: string;
  /** The arrival that it was made for. */
  arrival?: string;
  /** The last measurement of each metric. */
  water: MixedWater;
  measuredMs?: number;
  salinitySd?: number;
  usedL: number;
  uses: { timeMs: number; litres: number; waterChange?: number }[];
};

/** For what. */
type BatchUse = Pick<Extract<BodyOf<'batch'>, { event: 'used' }>, 'for' | 'water_change' | 'water'>;

export type Batches = {
  make(entry: BatchEntry, nowMs: number): Batch;
  measure(id: string, entry: BatchWaterEntry, nowMs: number): Batch;
  /** Salt or fresh water that went in later, before any of it was used; its salinity is then to be measured again. */
  more(id: string, entry: BatchMoreEntry, nowMs: number): Batch;
  /** So much of it went somewhere. */
  use(id: string, litres: number, what: BatchUse, timeMs: number, nowMs: number, key?: string): void;
  /** @throws Refused unknown_batch */
  find(id: string): Batch;
  all(): Batch[];
  /** What is known of its water: by the probes in the vessel, else as measured. */
  water(id: string, nowMs: number): MixedWater;
  /** Whether it may be used for its tank. */
  match(id: string, nowMs: number): BatchMatch;
  /** From the batches of this salt whose salinity was measured; undefined without one. */
  strength(salt: string): SaltStrength | undefined;
};

export type BatchParts = {
  config: Config;
  store: Pick<Store, 'commit' | 'journal' | 'series' | 'latest'>;
  /** In which sentences speak. */
  units(): KeepersUnits;
};

export function createBatches({ config, store, units }: BatchParts): Batches {
  /** The batch that an entry is about: that of the older one, for a key that is there already. */
  function keep(body: BodyOf<'batch'>, system: string, timeMs: number, nowMs: number, key?: string): Batch {
    const entry = { kind: 'batch' as const, timeMs, recordedMs: nowMs, system, body };
    return find(append(store, key === undefined ? entry : { ...entry, key }).entry.body.batch);
  }

  const all = () => batchesOf(readJournal(store, { kind: 'batch' }));

  function find(id: string): Batch {
    const batch = all().find((each) => each.id === id);
    if (batch === undefined) throw new Refused('unknown_batch', `there is no batch "${id}"`);
    return batch;
  }

  function water(id: string, nowMs: number): MixedWater {
    const batch = find(id);
    const byProbes = batch.probesOf === undefined ? {} : waterNow(store, batch.probesOf, nowMs);
    return { ...batch.water, ...byProbes };
  }

  return {
    all,
    find,
    water,
    make(entry, nowMs) {
      for (const id of [entry.system, ...(entry.probes_of === undefined ? [] : [entry.probes_of])]) {
        if (!config.systems.some((system) => system.id === id)) throw noSystem(id, config.systems);
      }
      const { key, time, system, ...body } = entry;
      const timeMs = happenedMs(time, nowMs);
      const made = readJournal(store, { kind: 'batch', history: true }).filter((old) => old.body.event === 'made');
      const batch = { event: 'made' as const, batch: `b${made.length + 1}`, ...body };
      return keep(batch, system, timeMs, nowMs, key === undefined ? undefined : `batch:${key}`);
    },
    measure(id, entry, nowMs) {
      const { system } = find(id);
      const { time, ...body } = entry;
      const timeMs = happenedMs(time, nowMs);
      return keep({ event: 'measured', batch: id, ...body }, system, timeMs, nowMs);
    },
    more(id, entry, nowMs) {
      const batch = find(id);
      const { time, key, ...body } = entry;
      if (body.salt_g === undefined && body.fresh_l === undefined)
        throw new Refused('out_of_range', 'salt_g: found neither salt nor fresh water, need one of them');
      const kept = key === undefined ? undefined : `batch-more:${key}`;
      if (kept !== undefined && entryWithKey(store, kept) !== undefined) return batch;
      // What is in it by the gram would be guessed: salt is spread over the part that is left.
      if (batch.usedL > 0)
        throw new Refused('not_now', `part of batch ${id} is used: what is left cannot be corrected`);
      const timeMs = happenedMs(time, nowMs);
      return keep({ event: 'more', batch: id, ...body }, batch.system, timeMs, nowMs, kept);
    },
    use(id, litres, what, timeMs, nowMs, key) {
      const { system } = find(id);
      keep({ event: 'used', batch: id, litres, ...what }, system, timeMs, nowMs, key);
    },
    match(id, nowMs) {
      const { system } = find(id);
      const tank = waterNow(store, system, nowMs, matchedMetrics);
      return orRefused(() => batchMatch(water(id, nowMs), tank, matchTolerances, units()));
    },
    strength(salt) {
      const measured = all().flatMap((batch) => {
        const { litres, salt_g, water: known, salinitySd } = batch;
        return batch.salt === salt && known.salinity !== undefined
          ? [{ volumeL: litres, salt_g, salinity: known.salinity, salinitySd: salinitySd ?? 0.2 }]
          : [];
      });
      return measured.length === 0 ? undefined : orRefused(() => saltStrengthFromBatches(measured));
    },
  };
}

function batchesOf(entries: readonly Entry<'batch'>[]): Batch[] {
  const byId = new Map<string, Batch>();
  for (const { body, timeMs, system } of entries) {
    if (body.event === 'made') {
      const { batch: id, litres, salt, salt_g, probes_of } = body;
      byId.set(id, {
        id,
        system,
        madeMs: timeMs,
        litres,
        salt,
        salt_g,
        water: {},
        usedL: 0,
        uses: [],
        ...defined({ probesOf: probes_of, arrival: body.arrival }),
      });
      continue;
    }
    const batch = byId.get(body.batch);
    if (batch === undefined) continue;
    switch (body.event) {
      case 'measured':
        for (const metric of mixedMetrics) {
          const value = body[metric];
          if (value !== undefined) batch.water[metric] = value;
        }
        if (body.salinity !== undefined) batch.salinitySd = body.salinity_sd ?? 0.2;
        batch.measuredMs = timeMs;
        break;
      case 'used': {
        const { litres, water_change } = body;
        batch.usedL += litres;
        batch.uses.push({ timeMs, litres, ...defined({ waterChange: water_change }) });
        break;
      }
      case 'more': {
        batch.salt_g += body.salt_g ?? 0;
        batch.litres += body.fresh_l ?? 0;
        // Nothing mixed is as it was measured; only the temperature may still hold.
        const { temperature } = batch.water;
        batch.water = temperature === undefined ? {} : { temperature };
      }
    }
  }
  return [...byId.values()];
}
