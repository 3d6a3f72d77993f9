import type { JournalKind } from '#adapters/ports/store.ts';
import { substances } from '#rules/dosing/substances.ts';
import { createHistoryCalibrator, type HistoryCalibrator } from '../flow/calibration/apply-to-history.ts';
import { type Calibrations, createCalibrations } from '../flow/calibration/calibrations.ts';
import { createEntries, type Entries } from '../flow/entries/enter.ts';
import { createKits, type Kits } from '../flow/kits/kits.ts';
import { type Bindings, bindProbes } from '../flow/pipeline/bound-probe.ts';
import { createLivestock, type Livestock } from '../judgement/arrivals/livestock.ts';
import { createEstimator, type Estimator } from '../judgement/estimate/estimator.ts';
import { createGasExchange, type GasExchange } from '../judgement/estimate/gas-exchange.ts';
import { createVolumeLearner, type VolumeLearner } from '../judgement/estimate/volume-learner.ts';
import { createLamps, type Lamps } from '../judgement/light/lamps.ts';
import { sendNow } from '../judgement/notices/deliver.ts';
import { calibratedLine } from '../judgement/notices/taken-line.ts';
import { createJudging, type Judging } from '../judgement/watch/judging.ts';
import type { Config } from '../model/config/schema.ts';
import { withPast } from '../model/config/system-at.ts';
import { createOutward, type Outward } from '../outside/outward/outward.ts';
import { configurationsSeen, heldBefore } from '../reports/week/review/configuration-seen.ts';
import type { Ground } from './ground.ts';
import type { Judges } from './judges.ts';
import type { RoomRecord } from './record.ts';

export type Entering = {
  bindings: Bindings;
  calibrations: Calibrations;
  history: HistoryCalibrator;
  estimator: Estimator;
  volumes: VolumeLearner;
  gas: GasExchange;
  lamps: Lamps;
  /** The configuration with what held before. */
  overTime: Config;
  judging: Judging;
  outward: Outward;
  entries: Entries;
  livestock: Livestock;
  kits: Kits;
  /** What was entered or corrected of a system is judged again. */
  learned(system: string): void;
  /** Goes on with what was asked to be calibrated in the past and is not done. */
  calibratePast(): void;
};

/** What people enter: into the journal, and from there to the rules, to estimates and advice, and outward. */
export function createEntering(room: Ground & { record: RoomRecord; judges: Judges }): Entering {
  const { config, clock, edges, log, now, contained, live, record, judges } = room;
  const { store, forEntries, forPeople } = record;
  const { watch, deliveries, settings, ways, notifiers, phone } = judges;

  const bindings = bindProbes(config);
  const calibrations = createCalibrations({
    config,
    store: forEntries,
    probes: bindings.probes,
    told: (evidence, nowMs) => {
      contained.run('calibrations', () => watch.offer(evidence, nowMs));
      if (evidence.is === 'calibration') phone.answer(calibratedLine(evidence, nowMs, config));
      live.changed();
    },
  });
  contained.run('calibrations', () => calibrations.refresh());
  const history = createHistoryCalibrator({ store: forEntries, calibrations, probes: bindings.probes });
  const overTime = withPast(config, heldBefore(configurationsSeen(store)), now());
  const volumes = createVolumeLearner({ config: overTime, store, now });
  const volumeDoubt = (system: string): string | undefined => {
    const known = volumes.lastOf(system);
    return known?.isOff === true ? known.text : undefined;
  };
  const units = () => settings.effective().display_units;
  const gas = createGasExchange({
    config: overTime,
    store,
    now,
    alkalinity: (system) => estimator.estimate(system, 'alkalinity'),
    hoursOfLight: (system, timeMs) => lamps.hoursAt(system, timeMs),
  });
  const estimator: Estimator = createEstimator({
    config: overTime,
    store,
    now,
    units,
    volumeDoubt,
    gasTransfer: gas.transferOf,
  });
  // What is advised stays; its words are put again.
  settings.onChange(() =>
    contained.run('estimates', () => {
      for (const { id } of config.systems) for (const evidence of estimator.refresh(id)) watch.offer(evidence, now());
    }),
  );
  const judging = createJudging({
    config,
    store,
    watch,
    now,
    monotonicMs: () => clock.monotonicMs(),
    contained: (work) => contained.run('entries', work),
  });
  const outward = createOutward(
    config,
    store,
    edges.link,
    (work) => contained.run('readings to the broker', work),
    (series) => watch.silence(series, now()).isSilent,
  );

  function follow(kind: JournalKind, system: string, timeMs: number): void {
    contained.run('estimates', () => {
      for (const evidence of estimator.follow(kind, system, timeMs)) watch.offer(evidence, now());
    });
    live.changed();
  }
  const kits = createKits(forEntries);
  const entries = createEntries({
    config,
    kitOfTest: kits.ofTest,
    store: forEntries,
    question: (system, analyte, value, unit) => estimator.question(system, analyte, value, unit),
    isKnownSubstance: (substance) => Object.hasOwn(substances, substance),
    takeBack: (entry, by, nowMs) =>
      entry.kind === 'arrival' ? livestock.arrivals.takeBackEntry(entry, by, nowMs) : undefined,
    entered: (kind, system, test, timeMs) => {
      // The entry is on disk by now: what follows from it may fail without taking it back. What was taken back comes as
      // a note, and may have been a calibration.
      if (test !== undefined) outward.entered(system, test, timeMs);
      if (kind === 'note') contained.run('calibrations', () => calibrations.refresh());
      judging.entered(system);
      follow(kind, system, timeMs);
    },
  });
  const livestock = createLivestock({
    config,
    store: forPeople,
    ways,
    entries,
    units: () => settings.effective().display_units,
    demandAt: (system, timeMs) => estimator.estimateAt(system, 'alkalinity', timeMs),
    learned: (system, timeMs) => follow('arrival', system, timeMs),
    remind: (reminder, nowMs) => watch.remark(reminder, nowMs),
    stored: () => deliveries.nudge(),
    unstored: (items, error) => {
      log.error({ err: error }, 'a timer could not be stored; it is called from memory');
      sendNow(notifiers, items);
    },
    warn: (line) => log.warn(line),
  });
  const lamps: Lamps = createLamps(config, forPeople, (system) => livestock.pieces.all({ system, isHere: true }));
  return {
    lamps,
    bindings,
    calibrations,
    history,
    estimator,
    volumes,
    gas,
    overTime,
    judging,
    outward,
    entries,
    livestock,
    kits,
    learned: (system) => follow('note', system, now()),
    calibratePast() {
      history
        .resume(now())
        .catch((error: unknown) => log.warn({ err: error }, 'the stored readings are not all calibrated as was asked'));
    },
  };
}
