import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { metricFacts } from '#rules/quantity/metric.ts';
import { demandFacts, isDemandAnalyte } from '#rules/trend/demand-facts.ts';
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
export type LotSaid = { kit: string; system: string; say: string };

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
      const say = stepSaid(store, system, kit, before, nowMs);
      return say === undefined ? [] : [{ kit: kit.id, system: system.id, say }];
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
): string | undefined {
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
  const lots = `lot ${kit.lot ?? kit.id} of ${kit.name}`;
  const than = `than expected from lot ${before.lot ?? before.id}`;
  const way = found.step > 0 ? 'higher' : 'lower';
  return (
    `${system.name}: ${lots} reads ${label.toLowerCase()} ${size(found.step)} ${way} (± ${size(1.96 * found.sd)}) ${than}. ` +
    'Test one sample with both lots, a reference or the titrator before you dose by it.'
  );
}
