import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { type DemandAnalyte, demandFacts, isDemandAnalyte } from '#rules/trend/demand-facts.ts';
import { startDemand, stepDemand } from '#rules/trend/demand-filter.ts';
import { lotStep } from '#rules/trend/new-lot.ts';
import type { Kit, Kits } from '../../flow/kits/kits.ts';
import type { Config } from '../../model/config/schema.ts';
import { readEntries } from '../estimate/known-entries.ts';
import { demandEvidenceOf } from '../estimate/known-facts.ts';

/** Older tests say nothing of today's water. As the estimate has it. */
const historyMs = 120 * dayMs;
/** A lot that was opened longer ago is the lot that the tank is known by. */
const newForMs = 30 * dayMs;

/** A lot that reads otherwise than the one before, in a sentence. */
export type LotSaid = {
  kit: string;
  analyte: DemandAnalyte;
  system: string;
  systemName: string;
  /** Which one: `lot 7 of Blue kit`. */
  lot: string;
  /** Which lot reads what, without the tank. */
  what: string;
  /** The whole, with its interval and what to do. */
  say: string;
  /** It was held against a reference, the titrator or another kit: what it reads is known. */
  isCompared: boolean;
};

/**
 * New lots that disagree with the water as the lot before knew it. Each tank is asked by itself; tests by
 * another kit, a laboratory or the titrator say nothing of the lot.
 */
export function disagreeingLots(config: Config, store: Pick<Store, 'journal'>, kits: Kits, nowMs: number): LotSaid[] {
  const all = kits.all();
  return all.flatMap((kit) => {
    const before = all.findLast((each) => isLotBefore(each, kit));
    if (before === undefined || nowMs - kit.openedMs > newForMs) return [];
    return config.systems.flatMap((system): LotSaid[] => {
      const said = stepSaid(store, system, kit, before, nowMs);
      if (said === undefined) return [];
      const of = { kit: kit.id, system: system.id, systemName: system.name, isCompared: kit.found !== undefined };
      return [{ ...of, ...said }];
    });
  });
}

function isLotBefore(each: Kit, kit: Kit): boolean {
  return each.name === kit.name && each.analyte === kit.analyte && each.openedMs < kit.openedMs;
}

function stepSaid(
  store: Pick<Store, 'journal'>,
  system: Config['systems'][number],
  kit: Kit,
  before: Kit,
  nowMs: number,
): Pick<LotSaid, 'analyte' | 'lot' | 'what' | 'say'> | undefined {
  const { analyte, openedMs } = kit;
  if (!isDemandAnalyte(analyte)) return undefined;
  // What another instrument reads later is no word of this lot.
  const entries = readEntries(store, system.id, nowMs - historyMs).filter(
    (entry) => entry.kind !== 'test' || entry.timeMs < openedMs || entry.body.kit?.id === kit.id,
  );
  const diary = demandEvidenceOf(system, analyte, entries, nowMs);
  const past = diary.filter(({ timeMs }) => timeMs < openedMs);
  const state = past.reduce(
    (known, { timeMs, evidence }) => stepDemand(known, evidence, timeMs),
    startDemand({ analyte }),
  );
  const found = lotStep(diary, state, openedMs, kit.found?.weightSd ?? demandFacts[analyte].usualTestSd);
  if (found?.isSaid !== true) return undefined;
  const { unit, label } = metricFacts[analyte];
  const size = (value: number) => `${Number(Math.abs(value).toPrecision(2))} ${unit}`.trim();
  const lot = `lot ${kit.lot ?? kit.id} of ${kit.name}`;
  const reads = `${lot} reads ${label.toLowerCase()} ${size(found.step)} ${found.step > 0 ? 'higher' : 'lower'}`;
  const than = `than expected from lot ${before.lot ?? before.id}`;
  return {
    analyte,
    lot,
    what: `${reads} ${than}`,
    say:
      `${system.name}: ${reads} (± ${size(1.96 * found.sd)}) ${than}. ` +
      'Test one sample with both lots, a reference or the titrator before you dose by it.',
  };
}
