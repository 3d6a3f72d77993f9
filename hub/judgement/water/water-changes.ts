import type { Store } from '#adapters/ports/store.ts';
import type { Bands } from '#rules/bands/watched-room.ts';
import { hourMs } from '#rules/clock/durations.ts';
import {
  type ExchangePlan,
  exchangeByDay,
  type LargestExchange,
  largestExchangeInDay,
} from '#rules/mixing/exchange.ts';
import {
  afterWaterChange,
  type ExchangeMethod,
  type MixedMetric,
  type MixedWater,
  mixedMetrics,
} from '#rules/mixing/mixed-water.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import type { Entries } from '../../flow/entries/enter.ts';
import type { Config, SystemConfig } from '../../model/config/schema.ts';
import { watchedBands } from '../../model/config/watched-room.ts';
import type { ChangeDoneEntry, ChangePlanEntry } from '../../model/entries/arrival-schemas.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { readJournal } from '../../model/journal/journal.ts';
import { happenedMs } from '../../model/refusals/happened.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import { orRefused, Refused } from '../../model/refusals/refused.ts';
import type { Batches } from './batches.ts';
import { waterNow } from './water-now.ts';

/** A probe's hour before the change, and one after the water has turned over. @source common practice, no published source */
const settleMs = 2 * hourMs;
/** A test so long before or after still speaks of the change and not of the week. */
const testWithinMs = 48 * hourMs;

export type ChangePlan = {
  tank: MixedWater;
  incoming: MixedWater;
  /** The tank after one change of the litres asked for. */
  after?: MixedWater;
  /** Most in one day that no band forbids. */
  largest: LargestExchange;
  /** Day by day to the target. */
  byDay?: ExchangePlan;
  warnings: string[];
};

export type MeasuredEffect = {
  metric: MixedMetric;
  before: number;
  /** By mixing; absent when the new water's value is not known. */
  expected?: number;
  after: number;
  by: 'probe' | 'test';
};

export type WaterChanges = {
  plan(entry: ChangePlanEntry, nowMs: number): ChangePlan;
  /** Logs the change with the batch's water, so that the demand filter knows it, and what of the batch is left. */
  done(entry: ChangeDoneEntry, nowMs: number): { id: number; expected: MixedWater };
  /** What the change really did. */
  effect(id: number, nowMs: number): MeasuredEffect[];
};

export type WaterChangeParts = {
  config: Config;
  store: Pick<Store, 'journal' | 'series' | 'latest' | 'summaries'>;
  entries: Pick<Entries, 'waterChange'>;
  batches: Batches;
};

export function createWaterChanges({ config, store, entries, batches }: WaterChangeParts): WaterChanges {
  function systemOf(id: string): SystemConfig {
    const system = config.systems.find((each) => each.id === id);
    if (system === undefined) throw noSystem(id, config.systems);
    return system;
  }

  return {
    plan(entry, nowMs) {
      const system = systemOf(entry.system);
      const tank = waterNow(store, system.id, nowMs);
      const incoming = entry.batch === undefined ? known(entry.water ?? {}) : batches.water(entry.batch, nowMs);
      const bands = watchedBands(system);
      return orRefused(() => {
        const largest = largestExchangeInDay(tank, incoming, bands, system.volume_l);
        const plan: ChangePlan = { tank, incoming, largest, warnings: [] };
        if (entry.volume_l !== undefined) {
          plan.after = afterWaterChange(tank, system.volume_l, incoming, entry.volume_l, entry.method);
          plan.warnings.push(...tooMuch(tank, plan.after, bands));
          if (entry.batch !== undefined) plan.warnings.push(...notReady(entry.batch, nowMs));
        }
        if (entry.target !== undefined)
          plan.byDay = byDay(entry.target, tank, incoming, bands, system.volume_l, entry.method);
        return plan;
      });
    },
    done(entry, nowMs) {
      const system = systemOf(entry.system);
      const batch = batches.find(entry.batch);
      const timeMs = happenedMs(entry.time, nowMs);
      const water = batches.water(entry.batch, nowMs);
      const tank = waterNow(store, system.id, nowMs);
      const expected = orRefused(() => afterWaterChange(tank, system.volume_l, water, entry.volume_l));
      const leftL = batch.litres - batch.usedL;
      // Said again because its answer was lost: it is in the journal, and what it took is no longer there to take.
      const isSaidAgain =
        entry.key !== undefined &&
        readJournal(store, { kind: 'water_change', key: `water_change:${entry.key}` }).length > 0;
      if (entry.volume_l > leftL + 0.05 && !isSaidAgain) {
        throw new Refused(
          'out_of_range',
          `volume_l: found ${entry.volume_l}, of batch ${batch.id} ${leftL} litres are left`,
        );
      }
      const { id } = entries.waterChange(
        {
          system: system.id,
          volume_l: entry.volume_l,
          time: new Date(timeMs).toISOString(),
          ...defined({
            alkalinity_dkh: water.alkalinity,
            calcium_mg_l: water.calcium,
            magnesium_mg_l: water.magnesium,
            salinity: water.salinity,
            by: entry.by,
          }),
          note: entry.note ?? `batch ${batch.id}`,
          ...defined({ key: entry.key }),
        },
        nowMs,
      );
      const what = { for: 'water_change', water_change: id, water };
      batches.use(batch.id, entry.volume_l, what, timeMs, nowMs, usedKey(id));
      return { id, expected };
    },
    effect(id, nowMs) {
      const change = readJournal(store, { kind: 'water_change', id })[0];
      if (change === undefined) throw new Refused('unknown_entry', `there is no water change ${id}`);
      const system = systemOf(change.system);
      const used = readJournal(store, { kind: 'batch', key: usedKey(id) })[0]?.body;
      const incoming = used?.event === 'used' && used.water ? known(used.water) : enteredWater(change.body);
      const litres = change.body.volume_l;
      return mixedMetrics.flatMap((metric): MeasuredEffect[] => {
        const sides = aroundChange(system.id, metric, change.timeMs, nowMs);
        if (sides === undefined) return [];
        const inNew = incoming[metric];
        const expected =
          inNew === undefined
            ? undefined
            : afterWaterChange({ [metric]: sides.before }, system.volume_l, { [metric]: inNew }, litres)[metric];
        return [{ metric, ...sides, ...defined({ expected }) }];
      });
    },
  };

  /** Probes show an hour's mean on both sides; where there is none, the tests next to the change do. */
  function aroundChange(system: string, metric: MixedMetric, timeMs: number, nowMs: number) {
    for (const series of store.series()) {
      if (series.system !== system || series.metric !== metric) continue;
      const mean = (fromMs: number) => {
        const minutes = store.summaries(series, 'minute', fromMs, fromMs + hourMs).filter(({ count }) => count > 0);
        return minutes.length === 0
          ? undefined
          : minutes.reduce((sum, minute) => sum + minute.mean, 0) / minutes.length;
      };
      const [before, after] = [
        mean(timeMs - hourMs),
        nowMs < timeMs + settleMs ? undefined : mean(timeMs + settleMs - hourMs),
      ];
      if (before !== undefined && after !== undefined) return { before, after, by: 'probe' as const };
    }
    const span = { fromMs: timeMs - testWithinMs, toMs: timeMs + testWithinMs };
    const tests = readJournal(store, { kind: 'test', system, ...span }).filter(({ body }) => body.analyte === metric);
    const before = tests.findLast((test) => test.timeMs <= timeMs)?.body.value;
    const after = tests.find((test) => test.timeMs > timeMs)?.body.value;
    if (before === undefined || after === undefined) return undefined;
    return { before, after, by: 'test' as const };
  }

  function notReady(batch: string, nowMs: number): string[] {
    return batches
      .match(batch, nowMs)
      .metrics.filter(({ verdict }) => verdict !== 'matches')
      .map(({ text }) => text);
  }
}

/** The key of the entry that says which batch went into a water change. */
const usedKey = (waterChange: number): string => `batch-used:${waterChange}`;

/** What of it is known. */
function known(given: { [Metric in MixedMetric]?: number | undefined }): MixedWater {
  return Object.fromEntries(Object.entries(given).filter(([, value]) => value !== undefined));
}

function enteredWater({ alkalinity_dkh, calcium_mg_l, magnesium_mg_l, salinity }: BodyOf<'water_change'>): MixedWater {
  return known({ alkalinity: alkalinity_dkh, calcium: calcium_mg_l, magnesium: magnesium_mg_l, salinity });
}

function tooMuch(tank: MixedWater, after: MixedWater, bands: Bands): string[] {
  return mixedMetrics.flatMap((metric) => {
    const [from, to, band] = [tank[metric], after[metric], bands[metric]];
    if (from === undefined || to === undefined || band === undefined) return [];
    const { label, unit, decimals } = metricFacts[metric];
    const move = `${label} would go from ${from.toFixed(decimals)} to ${to.toFixed(decimals)} ${unit}`.trim();
    const found: string[] = [];
    if (band.mostPerDay !== undefined && Math.abs(to - from) > band.mostPerDay + 1e-9)
      found.push(`${move}, more than ${band.mostPerDay} in a day.`);
    if (to < band.low || to > band.high) found.push(`${move}, outside the band ${band.low} to ${band.high}.`);
    return found;
  });
}

function byDay(
  target: NonNullable<ChangePlanEntry['target']>,
  tank: MixedWater,
  incoming: MixedWater,
  bands: Bands,
  volumeL: number,
  method: ExchangeMethod,
): ExchangePlan {
  const [now, inNew] = [tank[target.metric], incoming[target.metric]];
  if (now === undefined || inNew === undefined) {
    const where = now === undefined ? 'the tank' : 'the new water';
    throw new Refused('not_known', `the ${target.metric} of ${where} is not known: measure it first`);
  }
  const mostPerDay = bands[target.metric]?.mostPerDay;
  return exchangeByDay({
    volumeL,
    now,
    target: target.value,
    incoming: inNew,
    method,
    ...defined({ mostPerDay }),
  });
}
