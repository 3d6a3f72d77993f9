import type { JournalKind, Store } from '#adapters/ports/store.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import type { KeepersUnits } from '#rules/bands/watched-room.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { adviseDose } from '#rules/dosing/advice.ts';
import { adviseSalinity } from '#rules/dosing/advice-salinity.ts';
import type { Advice, AdviceAnalyte, PastDemand } from '#rules/dosing/advice-types.ts';
import type { Analyte } from '#rules/quantity/metric.ts';
import { type DemandAnalyte, demandAnalytes, isDemandAnalyte } from '#rules/trend/demand-facts.ts';
import { type DemandEstimate, demandEstimate } from '#rules/trend/demand-filter.ts';
import { type DemandTrack, followDiary, startTrack, trackedState } from '#rules/trend/demand-track.ts';
import type { GasTransfer } from '#rules/trend/gas-transfer.ts';
import type { TestedWater } from '../../flow/pipeline/derive-carbonate.ts';
import type { Config, SystemConfig } from '../../model/config/schema.ts';
import type { Entry } from '../../model/journal/journal.ts';
import type { EntryDoubt } from '../../model/refusals/questioned.ts';
import { adviceInputOf, phScales } from './advice-input.ts';
import { createAdviceLog } from './advice-log.ts';
import { type Container, containersOf } from './containers.ts';
import { doubtAboutTest } from './entry-doubt.ts';
import { type Explanation, explanationOf } from './explanation.ts';
import { createFactsSeen } from './facts-seen.ts';
import { createKnownEntries, readEntries } from './known-entries.ts';
import { currentRisePerDay, demandEvidenceOf, plannedRiseBetween } from './known-facts.ts';
import { levelEvidence } from './level-evidence.ts';
import { createPastEstimates } from './past-estimates.ts';
import { salinityInputOf } from './salinity-input.ts';

/** Older tests say nothing of today's corals, and a filter over years would only cost time. */
const historyDays = 120;
/** Old evidence is let go in such steps: were the oldest dropped each hour, the filter would begin again each hour. */
const historyStepDays = 30;
/**
 * What a running filter has seen it keeps longer: to begin again costs it a second or two. Beyond this many days or entries the
 * search through them at each entry would cost more.
 */
const mostHistoryDays = 550;
const mostEntriesUsed = 6000;
/** A new beginning is left to a test that is taken in, as far as may be: whoever asks should not wait for it. */
const slackOfAsk = 0.1;
/** What is asked for so shortly before now is asked for now. */
const nowIsMs = 60_000;
/** A level less sure than this (dKH, mg/L) moves pCO2 and saturation by more than a tenth: then there is none. */
const carbonateWorthSd = { alkalinity: 0.8, calcium: 40 };

export type AdviceOfAnalyte = { analyte: AdviceAnalyte; advice: Advice };

export type Estimator = {
  /** Computes a system again after an entry; gives what the rules should know of level, demand and containers. */
  follow(kind: JournalKind, system: string, timeMs: number): Evidence[];
  /** The same as a refresh without the advice: for a diary that is judged and not asked. */
  judge(system: string): Evidence[];
  /** A test is taken in, and nothing is judged yet: the next refresh has the less to do. */
  takeIn(system: string, analyte: DemandAnalyte): void;
  /** Time passes for a system: the forecast moves although nothing was entered. */
  refresh(system: string): Evidence[];
  /** True when the probes say something else to advice than at the last refresh: one fell silent, or speaks again. */
  isOutdated(system: string): boolean;
  advice(system: string): AdviceOfAnalyte[];
  estimate(system: string, analyte: DemandAnalyte): DemandEstimate | undefined;
  /** As it would have been at a time, from what happened until then, as the journal tells it now. */
  estimateAt(system: string, analyte: DemandAnalyte, timeMs: number): DemandEstimate | undefined;
  /** How full the containers are that somebody has filled. */
  containers(system: string): Container[];
  /** The working of an estimate: every test with its weight, the doses between, the past and the week to come. */
  explain(system: string, analyte: DemandAnalyte): Explanation | undefined;
  /** Alkalinity, and calcium where it is tested, as they are now; undefined while the tests say too little. */
  testedWater(system: string): TestedWater | undefined;
  /** A doubt about a test; undefined when it looks right. `value` in `unit`, as typed. */
  question(system: string, analyte: Analyte, value: number, unit: string): EntryDoubt | undefined;
};

export type EstimatorParts = {
  config: Config;
  store: Pick<Store, 'journal' | 'series' | 'latest' | 'summaries' | 'commit'>;
  now(): number;
  /** In which units advice is put into words. */
  units(): KeepersUnits;
  /** What was learned against the stated volume of a system, in words; undefined when it fits, or nothing is known. */
  volumeDoubt?(system: string): string | undefined;
  /** How fast its water exchanges CO2 with the air; undefined while that is not known. */
  gasTransfer?(system: string): GasTransfer | undefined;
};

type Estimates = Partial<Record<DemandAnalyte, DemandEstimate>>;

/** Keeps what is known of each system's level and demand, and the advice that follows from it. */
export function createEstimator(parts: EstimatorParts): Estimator {
  const systems = new Map(parts.config.systems.map((system) => [system.id, system]));
  const estimates = new Map<string, Estimates>();
  const advice = new Map<string, AdviceOfAnalyte[]>();
  const adviceLog = createAdviceLog(parts.store);
  const containers = new Map<string, Container[]>();
  const planToldMs = new Map<string, number>();
  /** One for each system and analyte, so that an entry or an hour costs only what is new. */
  const tracks = new Map<string, DemandTrack>();
  const entriesKnown = createKnownEntries(parts.store);
  const factsSeen = createFactsSeen(parts.store, (system) => systems.get(system)?.bands.salinity);
  const seenAtRefresh = new Map<string, string>();
  const past = createPastEstimates();
  const scaleOf = phScales(parts.config);
  /** Since when the entries of a system are used. */
  const usedFrom = new Map<string, number>();

  /** @param slack  how much more than usual is kept on before a new beginning, as a share */
  function entriesOf(system: string, nowMs: number, slack = 0): readonly Entry[] {
    const fromMs = usedFrom.get(system);
    // Later than needed: the last question was about a time far ahead.
    const isEnough = fromMs !== undefined && fromMs <= oldestUsedMs(nowMs);
    if (isEnough && nowMs - fromMs < (1 + slack) * mostHistoryDays * dayMs) {
      const entries = entriesKnown.of(system, fromMs);
      if (entries.length <= (1 + slack) * mostEntriesUsed || fromMs === oldestUsedMs(nowMs)) return entries;
    }
    usedFrom.set(system, oldestUsedMs(nowMs));
    entriesKnown.forget(system);
    return entriesKnown.of(system, oldestUsedMs(nowMs));
  }

  function followed(
    system: SystemConfig,
    analyte: DemandAnalyte,
    entries: readonly Entry[],
    nowMs: number,
  ): DemandTrack {
    const key = `${system.id}\0${analyte}`;
    const diary = demandEvidenceOf(system, analyte, entries, nowMs);
    const track = followDiary(tracks.get(key) ?? startTrack({ analyte }), diary);
    tracks.set(key, track);
    return track;
  }

  function refresh(system: SystemConfig): Evidence[] {
    const nowMs = parts.now();
    const entries = entriesOf(system.id, nowMs, slackOfAsk);
    const evidence = judge(system, entries, nowMs);
    const known = estimates.get(system.id) ?? {};
    const pastDemands: Partial<Record<DemandAnalyte, readonly PastDemand[]>> = {};
    const diaries: Partial<Record<DemandAnalyte, DemandTrack['followed']>> = {};
    for (const analyte of demandAnalytes) {
      const { past, followed } = tracks.get(`${system.id}\0${analyte}`) ?? startTrack({ analyte });
      pastDemands[analyte] = past;
      diaries[analyte] = followed;
    }
    advice.set(system.id, [
      ...demandAnalytes.flatMap((analyte) => {
        const input = adviceInputOf(
          parts.store,
          system,
          analyte,
          { estimates: known, pastDemands, diaries },
          entries,
          scaleOf,
          nowMs,
          { volumeDoubt: parts.volumeDoubt?.(system.id), gasTransfer: parts.gasTransfer?.(system.id) },
        );
        return input === undefined ? [] : [{ analyte, advice: adviseDose({ ...input, units: parts.units() }) }];
      }),
      ...salinityAdvice(system, entries, nowMs),
    ]);
    seenAtRefresh.set(system.id, factsSeen(system.id, nowMs));
    adviceLog.note(system.id, advice.get(system.id) ?? [], nowMs);
    return evidence;
  }

  /** Level, demand and containers, and what the rules should know of them. */
  function judge(system: SystemConfig, entries: readonly Entry[], nowMs: number): Evidence[] {
    const known: Estimates = {};
    for (const analyte of demandAnalytes) {
      const estimate = demandEstimate(trackedState(followed(system, analyte, entries, nowMs)), nowMs);
      if (estimate !== undefined) known[analyte] = estimate;
    }
    estimates.set(system.id, known);
    containers.set(system.id, containersOf(system, entries, nowMs));
    return [
      ...plannedDoseEvidence(system, entries, nowMs),
      ...demandAnalytes.flatMap((analyte) =>
        levelEvidence(system, analyte, known[analyte], currentRisePerDay(system, analyte, entries, nowMs), nowMs),
      ),
      ...(containers.get(system.id) ?? []).flatMap(({ stock, daysLeft }): Evidence[] =>
        daysLeft === null
          ? []
          : [{ is: 'container', system: system.id, stock, name: nameOfStock(system, stock), daysLeft }],
      ),
    ];
  }

  /** Whoever asks after the start and before the first round gets an answer all the same. */
  function known<Of>(of: ReadonlyMap<string, Of>, systemId: string): Of | undefined {
    const system = systems.get(systemId);
    if (system !== undefined && !of.has(systemId)) refresh(system);
    return of.get(systemId);
  }

  function standing(system: SystemConfig, analyte: AdviceAnalyte): Advice | undefined {
    return advice.get(system.id)?.find((each) => each.analyte === analyte)?.advice;
  }

  function salinityAdvice(system: SystemConfig, entries: readonly Entry[], nowMs: number): AdviceOfAnalyte[] {
    const input = salinityInputOf(parts.store, system, entries, standing(system, 'salinity'), nowMs);
    return input === undefined
      ? []
      : [{ analyte: 'salinity', advice: adviseSalinity({ ...input, units: parts.units() }) }];
  }

  /** What the standing plan has given since the rules were last told, so that a plan that does not arrive is noticed. */
  function plannedDoseEvidence(system: SystemConfig, entries: readonly Entry[], nowMs: number): Evidence[] {
    const fromMs = planToldMs.get(system.id) ?? nowMs;
    planToldMs.set(system.id, nowMs);
    return demandAnalytes.flatMap((analyte): Evidence[] => {
      const raisesBy = plannedRiseBetween(system, analyte, entries, fromMs, nowMs);
      return raisesBy > 0 ? [{ is: 'dose', system: system.id, analyteRaised: analyte, raisesBy, timeMs: nowMs }] : [];
    });
  }

  return {
    follow(kind, systemId, timeMs) {
      const system = systems.get(systemId);
      if (system === undefined) return [];
      entriesKnown.entered(kind, systemId, timeMs);
      past.entered(kind, systemId, timeMs);
      return refresh(system);
    },
    judge(systemId) {
      const system = systems.get(systemId);
      entriesKnown.forget(systemId);
      past.forget(systemId);
      return system === undefined ? [] : judge(system, entriesOf(systemId, parts.now()), parts.now());
    },
    takeIn(systemId, analyte) {
      const system = systems.get(systemId);
      entriesKnown.forget(systemId);
      past.forget(systemId);
      if (system === undefined) return;
      const usedMs = usedFrom.get(systemId);
      const entries = entriesOf(systemId, parts.now());
      // After a new beginning all of them would have to be taken in by whoever asks next.
      const analytes = usedFrom.get(systemId) === usedMs ? [analyte] : demandAnalytes;
      for (const each of analytes) followed(system, each, entries, parts.now());
    },
    refresh(systemId) {
      const system = systems.get(systemId);
      entriesKnown.forget(systemId);
      return system === undefined ? [] : refresh(system);
    },
    isOutdated: (system) => seenAtRefresh.get(system) !== factsSeen(system, parts.now()),
    advice: (system) => known(advice, system) ?? [],
    containers: (system) => known(containers, system) ?? [],
    explain(systemId, analyte) {
      const system = systems.get(systemId);
      if (system === undefined) return undefined;
      const nowMs = parts.now();
      return explanationOf(
        parts.store,
        system,
        analyte,
        readEntries(parts.store, system.id, oldestUsedMs(nowMs)),
        nowMs,
      );
    },
    estimate: (system, analyte) => known(estimates, system)?.[analyte],
    estimateAt(systemId, analyte, timeMs) {
      const system = systems.get(systemId);
      if (system === undefined) return undefined;
      // The running filter knows it, and to begin again costs seconds.
      if (timeMs >= parts.now() - nowIsMs) return known(estimates, systemId)?.[analyte];
      return past.at(systemId, analyte, timeMs, () => {
        const entries = readEntries(parts.store, system.id, oldestUsedMs(timeMs));
        const diary = demandEvidenceOf(system, analyte, entries, timeMs);
        return demandEstimate(trackedState(followDiary(startTrack({ analyte }), diary)), timeMs);
      });
    },
    testedWater(system) {
      const { alkalinity, calcium } = estimates.get(system) ?? {};
      if (alkalinity === undefined || alkalinity.levelSd > carbonateWorthSd.alkalinity) return undefined;
      const isCalciumKnown = calcium !== undefined && calcium.levelSd <= carbonateWorthSd.calcium;
      return { alkalinity_dKH: alkalinity.level, ...(isCalciumKnown ? { calcium_mg_L: calcium.level } : {}) };
    },
    question(system, analyte, value, unit) {
      const expected = isDemandAnalyte(analyte) ? known(estimates, system)?.[analyte] : undefined;
      return doubtAboutTest(analyte, value, unit, expected);
    },
  };
}

function nameOfStock({ stocks }: SystemConfig, id: string): string {
  return stocks.find((stock) => stock.id === id)?.name ?? id;
}

/** From 120 days ago to 150. */
function oldestUsedMs(nowMs: number): number {
  const stepMs = historyStepDays * dayMs;
  return Math.floor((nowMs - historyDays * dayMs) / stepMs) * stepMs;
}
