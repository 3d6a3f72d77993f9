import { setImmediate as nextTurn } from 'node:timers/promises';
import * as z from 'zod';
import type { Store } from '#adapters/ports/store.ts';
import { dayMs } from '#rules/clock/durations.ts';
import { append } from '../../model/journal/journal.ts';
import { Refused } from '../../model/refusals/refused.ts';
import type { BoundProbe } from '../pipeline/bound-probe.ts';
import type { Calibrations } from './calibrations.ts';
import { dataOf } from './json-data.ts';
import { type DerivedCounts, hourOfSpan, recorrection, rederive } from './recompute.ts';
import { demandRecoverable } from './recoverable.ts';

/** A longer span is asked for in parts: a year of one reading a second is 31 million of them. */
const mostSpanMs = 400 * dayMs;

const pendingName = 'calibration-of-history';
const nothingPending = { name: pendingName, body: 'null' };
const orderSchema = z.strictObject({
  calibration: z.number(),
  probe: z.string(),
  fromMs: z.number(),
  toMs: z.number(),
  by: z.string(),
});

export type HistoryOrder = z.infer<typeof orderSchema>;

export type Applied = { order: HistoryOrder; readings: number; derived: DerivedCounts; note: number | undefined };

export type HistoryCalibrator = {
  /**
   * Corrects what is stored of the calibration's probe in [fromMs, toMs) by this calibration. Between two hours of the
   * record the hub does its other work.
   *
   * @throws Refused  before anything was changed
   */
  apply(id: number, span: { fromMs: number; toMs: number }, by: string, nowMs: number): Promise<Applied>;
  /** Ends what a kill interrupted; nothing when there is nothing. */
  resume(nowMs: number): Promise<Applied | undefined>;
};

export type HistoryDeps = {
  store: Store;
  probes: readonly BoundProbe[];
  calibrations: Calibrations;
};

/**
 * Is: after a kill at any moment each hour is corrected once or not yet, and the next start goes on; a second order for the
 * same span changes nothing.
 * Is not: in one step for somebody who looks meanwhile; salinity follows when all of its conductivity is done.
 */
export function createHistoryCalibrator({ store, probes, calibrations }: HistoryDeps): HistoryCalibrator {
  let isBusy = false;

  function pendingOrder(): HistoryOrder | undefined {
    const order = orderSchema.safeParse(dataOf(store.document(pendingName)));
    return order.success ? order.data : undefined;
  }

  /** Ends what was interrupted; what cannot be ended any more is given up, since its hours are whole all the same. */
  async function workOnPending(nowMs: number): Promise<Applied | undefined> {
    const order = pendingOrder();
    if (order === undefined) return undefined;
    try {
      return await work(order, nowMs);
    } catch (error) {
      if (error instanceof Refused) store.commit({ documents: [nothingPending] });
      throw error;
    }
  }

  async function work(order: HistoryOrder, nowMs: number): Promise<Applied> {
    const { probe, body } = calibrations.find(order.calibration);
    const over = { correction: body.correction, calibration: order.calibration };
    demandRecoverable(store, probe, over.correction, order.fromMs, order.toMs);
    store.commit({ documents: [{ name: pendingName, body: JSON.stringify(order) }] });

    let readings = 0;
    const again = recorrection(store, probe, over, order.fromMs);
    for await (const [startMs, endMs] of hours(store, probe, order.fromMs, order.toMs)) {
      readings += again.passHour(startMs, endMs);
    }
    const derived = { salinity: 0, specificGravity: 0 };
    for (const { source, untilMs } of derivedFrom(probe, order.toMs)) {
      for await (const [startMs, endMs] of hours(store, source, order.fromMs, untilMs)) {
        const counts = rederive(store, source, startMs, endMs);
        derived.salinity += counts.salinity;
        derived.specificGravity += counts.specificGravity;
      }
    }
    return { order, readings, derived, note: finish(order, probe, readings, derived, nowMs) };
  }

  function derivedFrom(probe: BoundProbe, toMs: number): { source: BoundProbe; untilMs: number }[] {
    if (probe.derivation !== undefined) return [{ source: probe, untilMs: toMs }];
    return probes.flatMap((source) => {
      if (source.derivation?.temperatureProbe !== probe) return [];
      // A temperature serves the conductivity readings for a while after it.
      return [{ source, untilMs: toMs + source.derivation.temperatureAtMostMsOld }];
    });
  }

  /** The note of what was done, in one commit with the end of the order. */
  function finish(
    order: HistoryOrder,
    probe: BoundProbe,
    readings: number,
    derived: DerivedCounts,
    nowMs: number,
  ): number | undefined {
    if (readings + derived.salinity + derived.specificGravity === 0) {
      store.commit({ documents: [nothingPending] });
      return undefined;
    }
    const body = {
      note: `calibration ${order.calibration} applied to the stored readings of ${order.probe}`,
      about: 'calibration_of_history',
      calibration: order.calibration,
      probe: order.probe,
      by: order.by,
      from: new Date(order.fromMs).toISOString(),
      to: new Date(order.toMs).toISOString(),
      readings,
      salinity: derived.salinity,
      specific_gravity: derived.specificGravity,
    };
    const entry = { kind: 'note' as const, timeMs: nowMs, recordedMs: nowMs, system: probe.series.system, body };
    return append(store, entry, { documents: [nothingPending] }).id;
  }

  async function alone<Result>(doing: () => Promise<Result>): Promise<Result> {
    if (isBusy) throw new Refused('busy', 'another calibration is being applied to history; wait for its end');
    isBusy = true;
    try {
      return await doing();
    } catch (error) {
      throw isOfStore(error)
        ? new Refused(
            'not_stored',
            `${error.message} Whole hours were corrected up to there; asked again, or at the next start, the rest follows.`,
          )
        : error;
    } finally {
      isBusy = false;
    }
  }

  return {
    apply: (id, { fromMs, toMs }, by, nowMs) =>
      alone(async () => {
        const { probe } = calibrations.find(id);
        if (!(toMs > fromMs)) throw new Refused('out_of_range', '`to` must be after `from`');
        if (toMs - fromMs > mostSpanMs) throw new Refused('out_of_range', 'at most 400 days at once');
        const lastMs = store.latest(probe.series)?.timeMs;
        // Beyond the last stored reading the calibrations hold by their dates.
        const endMs = Math.min(toMs, lastMs === undefined ? fromMs : lastMs + 1);
        if (endMs <= fromMs) throw new Refused('out_of_range', `${probe.id} has no stored reading then`);
        await workOnPending(nowMs).catch(ignoreRefused);
        return await work({ calibration: id, probe: probe.id, fromMs, toMs: endMs, by }, nowMs);
      }),
    resume: (nowMs) => alone(() => workOnPending(nowMs)),
  };
}

/** A fault of the disk, by the code that the store gives it; anything else is a fault of ours. */
function isOfStore(error: unknown): error is Error {
  return error instanceof Error && 'code' in error && String(error.code).startsWith('STORE_');
}

function ignoreRefused(error: unknown): void {
  if (!(error instanceof Refused)) throw error;
}

/** The hours of the record in which a probe has readings, from the old end, with a turn for the rest of the hub between. */
async function* hours(
  store: Pick<Store, 'readings'>,
  probe: BoundProbe,
  fromMs: number,
  toMs: number,
): AsyncGenerator<readonly [startMs: number, endMs: number]> {
  let startMs = fromMs;
  while (startMs < toMs) {
    const next = store.readings(probe.series, startMs, toMs, 1)[0];
    if (next === undefined) return;
    const endMs = hourOfSpan(next.timeMs, toMs);
    yield [startMs, endMs];
    startMs = endMs;
    await nextTurn();
  }
}
