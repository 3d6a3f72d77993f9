import type { JournalEntry, KeptEntry, Store } from '#adapters/ports/store.ts';
import { type BatchMatch, batchMatch, matchedMetrics, matchTolerances } from '#rules/arrivals/new-water.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { mixedMetrics, type Water } from '#rules/mixing/mixed-water.ts';
import { type SaltStrength, saltStrengthFromBatches } from '#rules/mixing/salt-strength.ts';
import type { Config } from '../../model/config/schema.ts';
import type { BatchEntry, BatchMoreEntry, BatchWaterEntry } from '../../model/entries/arrival-schemas.ts';
import { happenedMs } from '../../model/refusals/happened.ts';
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
  /** The last measurement of each metric. */
  water: Water;
  measuredMs?: number;
  salinitySd?: number;
  usedL: number;
  uses: { timeMs: number; litres: number; waterChange?: number }[];
};

export type Batches = {
  make(entry: BatchEntry, nowMs: number): Batch;
  measure(id: string, entry: BatchWaterEntry, nowMs: number): Batch;
  /** Salt or fresh water that went in later, before any of it was used; its salinity is then to be measured anew. */
  more(id: string, entry: BatchMoreEntry, nowMs: number): Batch;
  /** So much of it went somewhere. */
  use(id: string, litres: number, what: Record<string, unknown>, timeMs: number, nowMs: number, key?: string): void;
  /** @throws Refused unknown_batch */
  find(id: string): Batch;
  all(): Batch[];
  /** What is known of its water: by the probes in the vessel, else as measured. */
  water(id: string, nowMs: number): Water;
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
  function keep(entry: JournalEntry): void {
    try {
      store.commit({ entries: [entry] });
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      throw new Refused('not_stored', `it could not be written to disk and is not kept: ${why}`);
    }
  }

  const all = () => batchesOf(store.journal({ kind: 'batch' }));

  function find(id: string): Batch {
    const batch = all().find((each) => each.id === id);
    if (batch === undefined) throw new Refused('unknown_batch', `there is no batch "${id}"`);
    return batch;
  }

  function water(id: string, nowMs: number): Water {
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
        if (!config.systems.some((system) => system.id === id))
          throw new Refused('unknown_system', `there is no system "${id}"`);
      }
      const { key, time, system, ...body } = entry;
      const timeMs = happenedMs(time, nowMs);
      const repeated =
        key === undefined
          ? undefined
          : store.journal({ kind: 'batch', history: true }).find((each) => each.key === `batch:${key}`);
      if (repeated !== undefined) return find(String(repeated.body['batch']));
      const made = store.journal({ kind: 'batch', history: true }).filter(({ body: old }) => old['event'] === 'made');
      const id = `b${made.length + 1}`;
      keep({
        ...{ kind: 'batch', timeMs, recordedMs: nowMs, system, body: { event: 'made', batch: id, ...body } },
        ...(key === undefined ? {} : { key: `batch:${key}` }),
      });
      return find(id);
    },
    measure(id, entry, nowMs) {
      const { system } = find(id);
      const { time, ...body } = entry;
      const timeMs = happenedMs(time, nowMs);
      keep({ kind: 'batch', timeMs, recordedMs: nowMs, system, body: { event: 'measured', batch: id, ...body } });
      return find(id);
    },
    more(id, entry, nowMs) {
      const batch = find(id);
      const { time, key, ...body } = entry;
      if (body.salt_g === undefined && body.fresh_l === undefined)
        throw new Refused('out_of_range', 'salt_g: found neither salt nor fresh water, need one of them');
      const kept = key === undefined ? undefined : `batch-more:${key}`;
      const isRepeated =
        kept !== undefined && store.journal({ kind: 'batch', history: true }).some((each) => each.key === kept);
      if (isRepeated) return batch;
      // What is in it by the gram would be guessed: salt is spread over the part that is left.
      if (batch.usedL > 0)
        throw new Refused('not_now', `part of batch ${id} is used: what is left cannot be corrected`);
      const timeMs = happenedMs(time, nowMs);
      keep({
        ...{ kind: 'batch', timeMs, recordedMs: nowMs, system: batch.system },
        body: { event: 'more', batch: id, ...body },
        ...(kept === undefined ? {} : { key: kept }),
      });
      return find(id);
    },
    use(id, litres, what, timeMs, nowMs, key) {
      const { system } = find(id);
      const body = { event: 'used', batch: id, litres, ...what };
      keep({ kind: 'batch', timeMs, recordedMs: nowMs, system, body, ...(key === undefined ? {} : { key }) });
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

function batchesOf(entries: readonly KeptEntry[]): Batch[] {
  const byId = new Map<string, Batch>();
  for (const { body, timeMs, system } of entries) {
    const id = String(body['batch']);
    const batch = byId.get(id);
    if (body['event'] === 'made') {
      byId.set(id, {
        ...{ id, system, madeMs: timeMs, litres: Number(body['litres']), salt: String(body['salt']) },
        ...{ salt_g: Number(body['salt_g']), water: {}, usedL: 0, uses: [] },
        ...(typeof body['probes_of'] === 'string' ? { probesOf: body['probes_of'] } : {}),
      });
    } else if (batch !== undefined && body['event'] === 'measured') {
      for (const metric of mixedMetrics) {
        const value = body[metric];
        if (typeof value === 'number') batch.water[metric] = value;
      }
      if (typeof body['salinity'] === 'number') batch.salinitySd = Number(body['salinity_sd'] ?? 0.2);
      batch.measuredMs = timeMs;
    } else if (batch !== undefined && body['event'] === 'used') {
      batch.usedL += Number(body['litres']);
      const waterChange = body['water_change'];
      batch.uses.push({
        ...{ timeMs, litres: Number(body['litres']) },
        ...(typeof waterChange === 'number' ? { waterChange } : {}),
      });
    } else if (batch !== undefined && body['event'] === 'more') {
      batch.salt_g += Number(body['salt_g'] ?? 0);
      batch.litres += Number(body['fresh_l'] ?? 0);
      // Nothing mixed is as it was measured; only the temperature may still hold.
      const { temperature } = batch.water;
      batch.water = temperature === undefined ? {} : { temperature };
    }
  }
  return [...byId.values()];
}
