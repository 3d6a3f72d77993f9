import type { Store } from '#adapters/ports/store.ts';
import { hourMs } from '#rules/clock/durations.ts';
import type { Quality, Reading, Series } from '#rules/quality/reading.ts';
import { checkReading, emptyStreamState } from '#rules/quality/stream-check.ts';
import type { BoundProbe } from '../pipeline/bound-probe.ts';
import { corrected, isSameCorrection, wireFrom } from '../pipeline/correction.ts';
import { derivedReadings } from '../pipeline/derive.ts';
import { painted, type Segment, segmentAt, segmentsOf, timelineOf } from '../pipeline/timeline.ts';
import { inForceDocument } from './calibrations.ts';
import { storedTemperatures } from './stored-temperature.ts';

export type RecomputeStore = Pick<Store, 'readings' | 'rewrite' | 'add'>;

/** The part of [fromMs, toMs) in the hour of the record in which `fromMs` lies: what one transaction changes. */
export function hourOfSpan(fromMs: number, toMs: number): number {
  return Math.min((Math.floor(fromMs / hourMs) + 1) * hourMs, toMs);
}

/**
 * Corrects the stored readings of a probe again, hour by hour: through what held before back to the wire, and by `over` to
 * the reading, with its quality judged again. What is corrected by it already stays as it is.
 */
export function recorrection(store: RecomputeStore, probe: BoundProbe, over: Omit<Segment, 'fromMs'>, fromMs: number) {
  const state = emptyStreamState();
  // What the checks that look back knew when the first reading came.
  for (const before of store.readings(probe.series, fromMs - hourMs, fromMs)) {
    checkReading(probe.checks, state, before.value, before.timeMs);
  }
  return {
    /** All of [startMs, endMs) in one transaction, with the note of what corrects it now. Gives how many changed. */
    passHour(startMs: number, endMs: number): number {
      const { electrode } = probe;
      const temperatureAt = storedTemperatures(
        store,
        electrode?.temperatureProbe,
        electrode?.temperatureAtMostMsOld ?? 0,
        startMs,
        endMs,
      );
      const segments = painted(segmentsOf(probe.calibration), startMs, endMs, over);
      const changed = store.rewrite(
        probe.series,
        startMs,
        endMs,
        (timeMs, value) => {
          const held = segmentAt(probe.calibration, timeMs).correction;
          if (held === null || over.correction === null || isSameCorrection(held, over.correction)) {
            checkReading(probe.checks, state, value, timeMs);
            return undefined;
          }
          const temperature_C = temperatureAt(timeMs)?.value;
          const anew = corrected(over.correction, wireFrom(held, value, temperature_C), temperature_C);
          return asKept(checkReading(probe.checks, state, anew, timeMs));
        },
        () => ({ documents: [inForceDocument(probe, segments)] }),
      );
      // On disk by now: late readings of that hour get the same correction.
      probe.calibration = timelineOf(segments);
      return changed;
    },
  };
}

export type DerivedCounts = { salinity: number; specificGravity: number };

/** Salinity and specific gravity of [startMs, endMs) again, from the conductivity and temperature stored at those times. */
export function rederive(store: RecomputeStore, probe: BoundProbe, startMs: number, endMs: number): DerivedCounts {
  const { derivation } = probe;
  if (derivation === undefined) return { salinity: 0, specificGravity: 0 };
  const { temperatureProbe, temperatureAtMostMsOld } = derivation;
  const temperatureAt = storedTemperatures(store, temperatureProbe, temperatureAtMostMsOld, startMs, endMs);
  const derived = store.readings(probe.series, startMs, endMs).map(({ timeMs, value, flag }) => {
    const quality: Quality =
      flag === 'pass' || flag === 'suspect' || flag === 'not_evaluated'
        ? { flag, value }
        : { flag: 'missing', why: 'it failed' };
    // The live stage asks its temperature probe for the last good value: here that is the stored one.
    const then = temperatureProbe && { ...temperatureProbe, lastGood: temperatureAt(timeMs) };
    const atThatTime = { ...probe, derivation: { ...derivation, temperatureProbe: then } };
    return derivedReadings(atThatTime, { series: probe.series, timeMs, quality });
  });
  const ofSeries = (series: Series) => derived.flatMap((pair) => pair.filter(({ series: of }) => of === series));
  return {
    salinity: replaceReadings(store, derivation.salinity, ofSeries(derivation.salinity), startMs, endMs),
    specificGravity: replaceReadings(
      store,
      derivation.specificGravity,
      ofSeries(derivation.specificGravity),
      startMs,
      endMs,
    ),
  };
}

/**
 * A reading that could be derived and was not is added. One that was derived and cannot be any more keeps its number, as
 * failed: it belongs to another conductivity.
 */
function replaceReadings(
  store: RecomputeStore,
  series: Series,
  anew: readonly Reading[],
  startMs: number,
  endMs: number,
): number {
  const byTime = new Map(anew.map((reading) => [reading.timeMs, reading]));
  const stored = new Set(store.readings(series, startMs, endMs).map(({ timeMs }) => timeMs));
  const changed = store.rewrite(series, startMs, endMs, (timeMs, value) => {
    const reading = byTime.get(timeMs);
    if (reading === undefined) return undefined;
    return asKept(reading.quality) ?? { value, flag: 'fail' };
  });
  const missing = anew.filter(({ timeMs, quality }) => quality.flag !== 'missing' && !stored.has(timeMs));
  store.add(missing);
  return changed + missing.length;
}

type Kept = { value: number; flag: Exclude<Quality['flag'], 'missing'> };

function asKept(quality: Quality): Kept | undefined {
  if (quality.flag === 'missing') return undefined;
  return { value: quality.flag === 'fail' ? quality.raw : quality.value, flag: quality.flag };
}
