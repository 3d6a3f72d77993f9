import type { Store } from '#adapters/ports/store.ts';
import type { Evidence } from '#rules/bands/evidence.ts';
import { emptyStreamState } from '#rules/quality/stream-check.ts';
import type { Config } from '../../model/config/schema.ts';
import type { CalibrationEntry } from '../../model/entries/calibration-entry.ts';
import type { BodyOf } from '../../model/journal/bodies.ts';
import { append, type Entry, readJournal } from '../../model/journal/journal.ts';
import { happenedMs } from '../../model/refusals/happened.ts';
import { orNotStored, Refused } from '../../model/refusals/refused.ts';
import { type BoundProbe, configuredCorrection } from '../pipeline/bound-probe.ts';
import { always, beginningMs, continued, type Segment, segmentsSchema, timelineOf } from '../pipeline/timeline.ts';
import { dataOf } from './json-data.ts';
import { judgeCalibration } from './judge.ts';

export type CalibrationDeps = {
  config: Config;
  probes: readonly BoundProbe[];
  store: Pick<Store, 'commit' | 'journal' | 'document' | 'latest'>;
  /** After a calibration is on disk and in force. */
  told(evidence: Evidence, nowMs: number): void;
};

export type Answered = {
  /** Undefined for a dry run. */
  id: number | undefined;
  probe: BoundProbe;
  timeMs: number;
  body: CalibrationBody;
  /** The first time of a reading that it corrects by itself. */
  inForceFromMs: number;
  /** True when readings after its date are stored already, corrected by what held before: history can be corrected. */
  isHistoryBehind: boolean;
};

type CalibrationBody = BodyOf<'calibration'>;

export type KeptCalibration = { entry: Entry<'calibration'>; body: CalibrationBody };

export type Calibrations = {
  /** On disk before the answer; a dry run keeps nothing and changes nothing. */
  enter(entry: CalibrationEntry, nowMs: number, isDryRun: boolean): Answered;
  /** Oldest first; what was taken back is left out. */
  of(probe: BoundProbe): KeptCalibration[];
  /** The newest of each probe that has one, by its id. */
  newest(): ReadonlyMap<string, KeptCalibration>;
  /** @throws Refused unknown_calibration  also when it was taken back, or its probe measures elsewhere now */
  find(id: number): KeptCalibration & { probe: BoundProbe };
  /** @throws Refused unknown_probe */
  probe(id: string): BoundProbe;
  /** Brings the probes in line with the journal and the configuration, for readings that are not stored yet. */
  refresh(): void;
};

/**
 * The calibrations of the room. The journal keeps them, append-only. Beside it stands, for each probe, a document that says
 * which of them corrected the stored readings, by the time of the reading: without it history could not be taken back to
 * what was on the wire.
 *
 * Is: a reading is corrected by the newest calibration dated at or before it, as soon as that is known; what is stored
 * changes only when somebody asks for it.
 * Is not: applied by itself to readings that were stored before it was entered.
 */
export function createCalibrations({ config, probes, store, told }: CalibrationDeps): Calibrations {
  const byId = new Map(probes.map((probe) => [probe.id, probe]));
  const configured = new Map(config.probes.map((probe) => [probe.id, always(configuredCorrection(probe))]));

  function probeOf(id: string): BoundProbe {
    const probe = byId.get(id);
    if (probe === undefined) throw new Refused('unknown_probe', `there is no probe "${id}"`);
    return probe;
  }

  function standing(): KeptCalibration[] {
    return readJournal(store, { kind: 'calibration' }).map((entry) => ({ entry, body: entry.body }));
  }

  function standingBySeries(): Map<string, KeptCalibration[]> {
    const bySeries = new Map<string, KeptCalibration[]>();
    for (const kept of standing()) {
      const name = calibratedSeries(kept);
      const others = bySeries.get(name);
      if (others === undefined) bySeries.set(name, [kept]);
      else others.push(kept);
    }
    return bySeries;
  }

  function scheduleOf(probe: BoundProbe, kept: readonly KeptCalibration[]): Segment[] {
    const byConfiguration = configured.get(probe.id);
    const dated = kept.map(({ entry, body }) => ({
      fromMs: entry.timeMs,
      correction: body.correction,
      calibration: entry.id,
    }));
    return [...(byConfiguration === undefined ? [] : [byConfiguration]), ...dated];
  }

  function refresh(): void {
    const kept = standingBySeries();
    const changed: { probe: BoundProbe; segments: Segment[] }[] = [];
    for (const probe of probes) {
      const stored = readSegments(store.document(documentOf(probe)));
      const schedule = scheduleOf(probe, kept.get(seriesName(probe)) ?? []);
      const lastMs = store.latest(probe.series)?.timeMs;
      // Readings from before anything was noted were corrected by the configuration.
      const held = stored ?? schedule.slice(0, 1);
      const segments = lastMs === undefined ? schedule : continued(held, schedule, lastMs);
      if (JSON.stringify(segments) !== JSON.stringify(stored)) changed.push({ probe, segments });
      else probe.calibration = timelineOf(segments);
    }
    if (changed.length === 0) return;
    store.commit({ documents: changed.map(({ probe, segments }) => inForceDocument(probe, segments)) });
    for (const { probe, segments } of changed) {
      const before = probe.calibration.newest;
      probe.calibration = timelineOf(segments);
      // The step to the next reading is the calibration's, not the water's.
      if (before.calibration !== probe.calibration.newest.calibration) {
        Object.assign(probe.streamState, emptyStreamState());
      }
    }
  }

  return {
    probe: probeOf,
    refresh,
    of: (probe) => standing().filter((kept) => calibratedSeries(kept) === seriesName(probe)),
    newest() {
      const bySeries = standingBySeries();
      return new Map(
        probes.flatMap((probe) => {
          const last = bySeries.get(seriesName(probe))?.at(-1);
          return last === undefined ? [] : [[probe.id, last] as const];
        }),
      );
    },
    find(id) {
      const kept = standing().find(({ entry }) => entry.id === id);
      if (kept === undefined) {
        const words = `there is no calibration ${id}; one that was taken back does not count`;
        throw new Refused('unknown_calibration', words);
      }
      const probe = byId.get(kept.body.probe);
      if (probe === undefined || seriesName(probe) !== calibratedSeries(kept)) {
        const words = `calibration ${id} is of ${calibratedSeries(kept)}, which no configured probe measures now`;
        throw new Refused('unknown_calibration', words);
      }
      return { ...kept, probe };
    },
    enter(entry, nowMs, isDryRun) {
      const probe = probeOf(entry.probe);
      const timeMs = happenedMs(entry.time, nowMs);
      const { probe: _probe, time: _time, key, by, why, kind, ...given } = entry;
      const judged = judgeCalibration(entry, probe);
      const body: CalibrationBody = { probe: probe.id, metric: probe.series.metric, kind, by, why, ...judged, given };
      const lastMs = store.latest(probe.series)?.timeMs ?? beginningMs;
      const answer = {
        probe,
        timeMs,
        body,
        inForceFromMs: Math.max(timeMs, lastMs + 1),
        isHistoryBehind: timeMs <= lastMs,
      };
      if (isDryRun) return { ...answer, id: undefined };
      const id = keep(probe, body, timeMs, nowMs, key);
      told({ is: 'calibration', probe: probe.id, timeMs }, nowMs);
      return { ...answer, id };
    },
  };

  function keep(
    probe: BoundProbe,
    body: CalibrationBody,
    timeMs: number,
    recordedMs: number,
    key: string | undefined,
  ): number {
    const entry = { kind: 'calibration' as const, timeMs, recordedMs, system: probe.series.system, body };
    const { id } = append(store, key === undefined ? entry : { ...entry, key: `calibration:${key}` });
    // After the entry, whose id it names. A crash between the two is mended at the next start, before any reading.
    orNotStored(refresh);
    return id;
  }
}

function calibratedSeries({ entry, body }: KeptCalibration): string {
  return `${entry.system}/${body.metric}/${body.probe}`;
}

function seriesName({ series }: BoundProbe): string {
  return `${series.system}/${series.metric}/${series.probe}`;
}

function documentOf(probe: BoundProbe): string {
  return `calibration/${seriesName(probe)}`;
}

/** Which calibrations corrected the stored readings of a probe, as it is kept. */
export function inForceDocument(probe: BoundProbe, segments: readonly Segment[]): { name: string; body: string } {
  return { name: documentOf(probe), body: JSON.stringify(segments) };
}

function readSegments(body: string | undefined): Segment[] | undefined {
  if (body === undefined) return undefined;
  const segments = segmentsSchema.safeParse(dataOf(body));
  // Damaged on disk: what corrected the stored readings is then not known, and is not guessed.
  return segments.success ? segments.data : [{ fromMs: beginningMs, correction: null, calibration: null }];
}
