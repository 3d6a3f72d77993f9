import type { BoundProbe, ElectrodeWire } from './bound-probe.ts';
import { corrected } from './correction.ts';
import { segmentAt } from './timeline.ts';

/**
 * Stage "calibration": the reading, in the metric's store unit, from the number on the wire. A correction that is not
 * known any more leaves the number as it came.
 */
export function calibrated(probe: BoundProbe, wire: number, timeMs: number): number {
  if (probe.lastWire === undefined) probe.lastWire = { timeMs, value: wire };
  else if (timeMs >= probe.lastWire.timeMs) {
    probe.lastWire.timeMs = timeMs;
    probe.lastWire.value = wire;
  }
  const { correction } = segmentAt(probe.calibration, timeMs);
  if (correction === null) return wire;
  const { electrode } = probe;
  return corrected(correction, wire, electrode === undefined ? undefined : electrodeTemperature(electrode, timeMs));
}

/** The temperature of an electrode's water, °C; undefined when none is known for the time of the reading. */
function electrodeTemperature(electrode: ElectrodeWire, timeMs: number): number | undefined {
  const temperature = electrode.temperatureProbe?.lastGood;
  if (temperature === undefined) return undefined;
  return Math.abs(timeMs - temperature.timeMs) > electrode.temperatureAtMostMsOld ? undefined : temperature.value;
}
