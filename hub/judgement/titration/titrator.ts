import { randomUUID } from 'node:crypto';
import type { Store } from '#adapters/ports/store.ts';
import type { Command as AlarmCommand } from '#rules/bands/evidence.ts';
import { minuteMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import { guidedBeaker } from '#rules/titration/guided-setup.ts';
import { type Guidance, guideTitration } from '#rules/titration/guided-titration.ts';
import { sdsFor95Percent } from '#rules/trend/normal-distribution.ts';
import type { Calibrations } from '../../flow/calibration/calibrations.ts';
import type { Entered, Entries } from '../../flow/entries/enter.ts';
import type { BoundProbe } from '../../flow/pipeline/bound-probe.ts';
import type { Config } from '../../model/config/schema.ts';
import type { TitrationStart } from '../../model/entries/titration-entry.ts';
import type { TitrationRecord } from '../../model/journal/titration-record.ts';
import { noSystem } from '../../model/refusals/no-system.ts';
import { orRefused, Refused } from '../../model/refusals/refused.ts';
import type { Estimator } from '../estimate/estimator.ts';
import { factNow } from '../water/water-now.ts';
import { beakerReadings } from './beaker-readings.ts';
import { endRunning, keepRunning, type RunningTitration, runningOf } from './running-titration.ts';
import { setupOf } from './start-setup.ts';

/** No sample is worth anything after so long: a run that nobody ended is over. Common practice, no published source */
const forgottenAfterMs = 6 * 60 * minuteMs;
/** While the probe is in a beaker its readings are not those of the tank. Ends by itself where nobody ends it. */
const maintenanceMs = 120 * minuteMs;
/** More portions than any run needs. */
const mostPortions = 100;

export type TitratorDeps = {
  config: Config;
  store: Pick<Store, 'readings' | 'document' | 'commit' | 'series' | 'latest' | 'journal'>;
  calibrations: Calibrations;
  entries: Pick<Entries, 'test'>;
  estimate: Estimator['estimate'];
  /** Puts the probe into maintenance, and out of it. */
  command(command: AlarmCommand): boolean;
};

export type TitrationNow = { run: RunningTitration; guidance: Guidance };

/** `halfWidth95_dKH`: half of the 95 % interval. */
export type Finished = Entered & { titration: TitrationRecord; halfWidth95_dKH: number };

export type Titrator = {
  /** @throws Refused  unknown_system, unknown_probe, not_for_this_metric, not_now (one runs), not_known, out_of_range */
  start(start: TitrationStart, nowMs: number): TitrationNow;
  running(nowMs: number): TitrationNow[];
  now(id: string, nowMs: number): TitrationNow;
  /** A portion went in. @throws Refused not_now  with too many of them */
  acid(id: string, portion: { amount: number; key?: string | undefined }, nowMs: number): TitrationNow;
  /** The last portion was not so: it is taken back. */
  undo(id: string, nowMs: number): TitrationNow;
  /** A person does not wait for the CO2 any longer. @throws Refused not_now  when nobody waits for it */
  goOn(id: string, nowMs: number): TitrationNow;
  /** The test with its whole run, on disk at return. @throws Refused no_answer */
  finish(id: string, by: string | undefined, nowMs: number): Finished;
  giveUp(id: string, nowMs: number): void;
  /** The clock has stepped: runs end there, since what was waited can no longer be told. What is known so far can be saved. */
  clockMoved(step: { atMs: number; byMs: number }): void;
};

/**
 * The hub as a titrator: it looks at a pH probe in a beaker and says the one thing to do now.
 *
 * Is: a function of what people said, which is on disk, and of the stored readings; so a hub that starts again goes on where it was.
 * Is not: a pump. A hand adds the acid, and says how much it was.
 */
export function createTitrator(deps: TitratorDeps): Titrator {
  const { config, store, calibrations } = deps;

  function probeFor(start: TitrationStart): BoundProbe {
    const ofSystem = config.probes.filter(({ system, metric }) => system === start.system && metric === 'ph');
    const id = start.probe ?? (ofSystem.length === 1 ? ofSystem[0]?.id : undefined);
    if (id === undefined) {
      const known = ofSystem.map((probe) => probe.id).join(', ');
      throw new Refused(
        'unknown_probe',
        known === '' ? `${start.system} has no pH probe: name one` : `${start.system} has more than one: name ${known}`,
      );
    }
    const probe = calibrations.probe(id);
    if (probe.series.metric !== 'ph') {
      throw new Refused('not_for_this_metric', `a titration needs a pH probe; ${id} measures ${probe.series.metric}`);
    }
    return probe;
  }

  function alive(system: string, nowMs: number): RunningTitration | undefined {
    const run = runningOf(store, system);
    return run === undefined || nowMs - lastMs(run) > forgottenAfterMs ? undefined : run;
  }

  function found(id: string, nowMs: number): RunningTitration {
    for (const { id: system } of config.systems) {
      const run = alive(system, nowMs);
      if (run?.id === id) return run;
    }
    throw new Refused('unknown_titration', `no titration "${id}" is running; one that was finished is in the journal`);
  }

  /** @throws Refused not_now  where the clock has stepped in the run */
  function going(id: string, nowMs: number): RunningTitration {
    const run = found(id, nowMs);
    if (run.clockMoved === undefined) return run;
    throw new Refused('not_now', 'the clock was moved during this run: save what is known so far, or give it up');
  }

  function look(run: RunningTitration, nowMs: number): TitrationNow {
    const { setup, startedMs, portions, goneOnMs, clockMoved } = run;
    const untilMs = clockMoved?.untilMs ?? nowMs;
    const probe = calibrations.probe(run.probe);
    const readings = beakerReadings(store, probe, setup.temperature_C, startedMs, untilMs);
    const past = { startedMs, portions, readings, ...defined({ goneOnMs }) };
    const guidance = guideTitration(setup, past, untilMs);
    if (clockMoved === undefined) return { run, guidance };
    return { run, guidance: { ...guidance, deed: { do: 'stop', why: 'clock' } } };
  }

  function keep(run: RunningTitration, nowMs: number): TitrationNow {
    keepRunning(store, run);
    return look(run, nowMs);
  }

  function maintain({ probe, by }: RunningTitration, untilMs: number | undefined): void {
    const place = { system: calibrations.probe(probe).series.system, probe, by };
    deps.command(
      untilMs === undefined ? { do: 'end_maintenance', ...place } : { do: 'maintenance', ...place, untilMs },
    );
  }

  function end(run: RunningTitration): void {
    endRunning(store, run.system);
    maintain(run, undefined);
  }

  return {
    start(start, nowMs) {
      const system = config.systems.find(({ id }) => id === start.system);
      if (system === undefined) throw noSystem(start.system, config.systems);
      const before = alive(system.id, nowMs);
      if (before !== undefined) {
        throw new Refused('not_now', `titration ${before.id} of ${system.id} is running: finish it or give it up`);
      }
      const probe = probeFor(start);
      const level = deps.estimate(system.id, 'alkalinity');
      const fact = (metric: 'salinity' | 'temperature') => factNow(store, system.id, metric, nowMs)?.value;
      const setup = setupOf(
        start,
        {
          salinity: fact('salinity'),
          temperature_C: fact('temperature'),
          alkalinity_dKH: level && { value: level.level, sd: level.levelSd },
          calibration: calibrations.newest().get(probe.id),
        },
        nowMs,
      );
      const beaker = orRefused(() => guidedBeaker(setup));
      if ('kind' in beaker) throw new Refused('out_of_range', beaker.why);
      const run: RunningTitration = {
        id: randomUUID().slice(0, 8),
        system: system.id,
        probe: probe.id,
        by: start.by ?? 'page',
        startedMs: nowMs,
        setup,
        portions: [],
        ...defined({ acid_lot: start.acid_lot }),
      };
      const now = keep(run, nowMs);
      maintain(run, nowMs + maintenanceMs);
      return now;
    },
    running: (nowMs) =>
      config.systems.flatMap(({ id }) => {
        const run = alive(id, nowMs);
        return run === undefined ? [] : [look(run, nowMs)];
      }),
    now: (id, nowMs) => look(found(id, nowMs), nowMs),
    acid(id, { amount, key }, nowMs) {
      const { takenBackMs, ...run } = going(id, nowMs);
      if (key !== undefined && run.portions.some((portion) => portion.key === key)) return look(run, nowMs);
      if (run.portions.length >= mostPortions) {
        throw new Refused('not_now', `${mostPortions} portions are the most: give this run up and use larger ones`);
      }
      const maybe = defined({ maybeInSinceMs: takenBackMs });
      const portion = { timeMs: nowMs, amount, ...defined({ key }), ...maybe };
      return keep({ ...run, portions: [...run.portions, portion] }, nowMs);
    },
    undo(id, nowMs) {
      const run = going(id, nowMs);
      const last = run.portions.at(-1);
      if (last === undefined) throw new Refused('not_now', 'no acid has gone in: there is nothing to take back');
      const takenBackMs = last.maybeInSinceMs ?? last.timeMs;
      return keep({ ...run, portions: run.portions.slice(0, -1), takenBackMs }, nowMs);
    },
    goOn(id, nowMs) {
      const { run, guidance } = look(going(id, nowMs), nowMs);
      if (guidance.hold?.isNow !== true) throw new Refused('not_now', 'nothing waits for CO2 at this step');
      return keep({ ...run, goneOnMs: nowMs }, nowMs);
    },
    finish(id, by, nowMs) {
      const { run, guidance } = look(found(id, nowMs), nowMs);
      const { verdict } = guidance;
      if (verdict?.kind !== 'answer') {
        const why = verdict?.why ?? 'there are too few points between pH 3 and 4. Go on, or give it up.';
        throw new Refused('no_answer', `no answer: ${why}`);
      }
      const titration = recordOf(run, guidance, verdict);
      const dkhPerUmol = verdict.totalAlkalinity_dkh / verdict.totalAlkalinity_umol_kg;
      const entered = deps.entries.test(
        {
          system: run.system,
          analyte: 'alkalinity',
          unit: 'dKH',
          key: `titration:${run.id}`,
          confirmed: true,
          value: Number(verdict.totalAlkalinity_dkh.toFixed(3)),
          // Few points widen the interval beyond their sd; whoever weighs the test takes the sd for that of a normal distribution.
          sd: Number(((verdict.halfWidth95_umol_kg / sdsFor95Percent) * dkhPerUmol).toFixed(4)),
          time: new Date(lastMs(run)).toISOString(),
          by: by ?? run.by,
        },
        nowMs,
        titration,
      );
      end(run);
      return { ...entered, titration, halfWidth95_dKH: verdict.halfWidth95_umol_kg * dkhPerUmol };
    },
    giveUp: (id, nowMs) => end(found(id, nowMs)),
    clockMoved({ atMs, byMs }) {
      for (const { id } of config.systems) {
        const run = alive(id, atMs - byMs);
        if (run === undefined) continue;
        const { untilMs = atMs - byMs, byMs: before = 0 } = run.clockMoved ?? {};
        keepRunning(store, { ...run, clockMoved: { untilMs, byMs: before + byMs } });
      }
    },
  };
}

/** By the clock of now. */
function lastMs({ startedMs, portions, clockMoved }: RunningTitration): number {
  return (portions.at(-1)?.timeMs ?? startedMs) + (clockMoved?.byMs ?? 0);
}

function recordOf(
  run: RunningTitration,
  { points, hold, gran_umol_kg, warnings }: Guidance,
  verdict: Extract<Guidance['verdict'], { kind: 'answer' }>,
): TitrationRecord {
  return {
    probe: run.probe,
    startedMs: run.startedMs,
    setup: run.setup,
    points,
    warnings,
    ...defined({ acid_lot: run.acid_lot }),
    co2LeftAtMost: hold?.leftAtMost ?? 1,
    total_alkalinity_umol_kg: verdict.totalAlkalinity_umol_kg,
    half_width_95_umol_kg: verdict.halfWidth95_umol_kg,
    shares_umol_kg: verdict.shares,
    points_used: verdict.points_used,
    ph_offset: verdict.electrode.signal === 'ph' ? verdict.electrode.phOffset : 0,
    ...defined({ gran_umol_kg }),
  };
}
