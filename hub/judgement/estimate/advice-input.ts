import { dayMs } from '#rules/clock/durations.ts';
import type { AdviceInput, PastDemand } from '#rules/dosing/advice-types.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { type DemandAnalyte, demandAnalytes } from '#rules/trend/demand-facts.ts';
import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import type { GasTransfer } from '#rules/trend/gas-transfer.ts';
import type { Config, SystemConfig } from '../../model/config/schema.ts';
import { watchedBands } from '../../model/config/watched-room.ts';
import { type Entry, ofKind } from '../../model/journal/journal.ts';
import { currentRisePerDay, type DatedEvidence, dosedBetween } from './known-facts.ts';
import { knownWater, type ScaleOf, type WaterStore } from './known-water.ts';
import { pastSalinity, type SalinityThen } from './past-salinity.ts';
import { planSeenMs } from './standing-plan.ts';
import { stocksGiven } from './stocks-given.ts';

/** Tests that advice looks back at and shows. Chosen here: two a week for a month. */
const testsShown = 8;
/** Arrivals that may still explain what is used. */
const arrivalDays = 21;
/** Tests further apart are not compared for what was dosed between. */
const dosesBeforeDays = 10;

export type Known = {
  estimates: Partial<Record<DemandAnalyte, DemandEstimate>>;
  pastDemands: Partial<Record<DemandAnalyte, readonly PastDemand[]>>;
  /** What the filter was told of each analyte, oldest first. */
  diaries: Partial<Record<DemandAnalyte, readonly DatedEvidence[]>>;
};

/** The scale of each pH probe, as the configuration states it. */
export function phScales(config: Pick<Config, 'probes'>): ScaleOf {
  const scales = new Map(config.probes.map(({ id, ph_scale }) => [id, ph_scale]));
  return (probe) => scales.get(probe) ?? 'nbs';
}

/** Everything that advice on one analyte rests on; undefined without a band. */
export function adviceInputOf(
  store: WaterStore,
  system: SystemConfig,
  analyte: DemandAnalyte,
  known: Known,
  entries: readonly Entry[],
  scaleOf: ScaleOf,
  nowMs: number,
  learned: { volumeDoubt?: string | undefined; gasTransfer?: GasTransfer | undefined } = {},
): AdviceInput | undefined {
  const { [analyte]: band, ...otherBands } = watchedBands(system);
  if (band === undefined) return undefined;
  const { [analyte]: estimate, ...otherEstimates } = known.estimates;
  const { [analyte]: pastDemands = [], ...otherPastDemands } = known.pastDemands;
  const tests = ofKind(entries, 'test')
    .filter(({ body, timeMs }) => body.analyte === analyte && timeMs <= nowMs)
    .slice(-testsShown);
  const oldestMs = tests[0]?.timeMs;
  const salinityThen =
    oldestMs === undefined ? undefined : pastSalinity(store, system.id, ofKind(entries, 'test'), oldestMs, nowMs);
  const testEveryDays = system.test_every_days[analyte];
  const water = knownWater(store, system, entries, scaleOf, nowMs);
  const given = stocksGiven(system, analyte, entries, estimate?.level, nowMs);
  const seenMs = planSeenMs(
    system,
    entries,
    given.stocks.map(({ product }) => product.id),
    nowMs,
  );
  return {
    system: {
      volumeL: system.volume_l,
      band,
      otherBands,
      ...defined({ volumeDoubt: learned.volumeDoubt, gasTransfer: learned.gasTransfer }),
      highestPhAfterDose: { value: system.highest_ph_after_dose, scale: water.ph?.scale ?? 'nbs' },
    },
    analyte,
    ...defined({ estimate }),
    otherEstimates,
    pastDemands,
    otherPastDemands,
    lastTests: tests.map((test) => ({
      timeMs: test.timeMs,
      value: test.body.value,
      ...defined({ sd: test.body.sd }),
      isSuspect: estimate?.suspect === true && test === tests.at(-1),
      ...salinityOf(test.timeMs, salinityThen),
    })),
    ...(oldestMs === undefined
      ? {}
      : { dosedSinceOldestTest: dosedBetween(system, analyte, entries, oldestMs, nowMs) }),
    doses: dosesOf(known.diaries[analyte] ?? [], (oldestMs ?? nowMs) - dosesBeforeDays * dayMs),
    ...given,
    plansPerDay: Object.fromEntries(
      demandAnalytes.map((each) => [each, currentRisePerDay(system, each, entries, nowMs)]),
    ),
    arrivalsMs: ofKind(entries, 'arrival')
      .filter(({ body }) => (body.event ?? 'arrived') === 'arrived')
      .map(({ timeMs }) => timeMs)
      .filter((timeMs) => timeMs > nowMs - arrivalDays * dayMs && timeMs <= nowMs),
    ...defined({ planSeenMs: seenMs }),
    water,
    ...defined({ testEveryDays }),
    nowMs,
  };
}

function salinityOf(timeMs: number, then: SalinityThen | undefined): { salinity?: number } {
  const salinity = then?.(timeMs);
  return defined({ salinity });
}

function dosesOf(diary: readonly DatedEvidence[], fromMs: number): NonNullable<AdviceInput['doses']> {
  const first = diary.findLastIndex(({ timeMs }) => timeMs < fromMs) + 1;
  return diary.slice(first).flatMap(({ timeMs, evidence }) => {
    if (evidence.is !== 'dose') return [];
    return [{ timeMs, rise: evidence.rise, isPlanned: evidence.isPlanned === true }];
  });
}
