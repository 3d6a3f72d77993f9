import type { Store } from '#adapters/ports/store.ts';
import type { BeakerReading } from '#rules/titration/probe-at-rest.ts';
import { storedTemperatures } from '../../flow/calibration/stored-temperature.ts';
import type { BoundProbe } from '../../flow/pipeline/bound-probe.ts';
import { corrected, wireFrom } from '../../flow/pipeline/correction.ts';
import { segmentAt } from '../../flow/pipeline/timeline.ts';

/**
 * What a probe said while it stood in a beaker: its calibration taken over, its slope by the temperature of the sample instead of
 * that of the tank. Readings of any flag: a beaker is no aquarium.
 *
 * @param fromMs  when the titration began
 * @returns oldest first
 */
export function beakerReadings(
  store: Pick<Store, 'readings'>,
  probe: BoundProbe,
  sample_C: number,
  fromMs: number,
  nowMs: number,
): BeakerReading[] {
  const { electrode, calibration } = probe;
  const temperatureAt = storedTemperatures(
    store,
    electrode?.temperatureProbe,
    electrode?.temperatureAtMostMsOld ?? 0,
    fromMs,
    nowMs + 1,
  );
  return store.readings(probe.series, fromMs, nowMs + 1).map(({ timeMs, value }) => {
    const { correction } = segmentAt(calibration, timeMs);
    // A meter that makes a pH by itself, and was never calibrated here, may follow the temperature or not: it is left alone.
    if (correction?.electrode === undefined) return { timeMs, ph: value };
    const wire = wireFrom(correction, value, temperatureAt(timeMs)?.value);
    return { timeMs, ph: corrected(correction, wire, sample_C) };
  });
}
