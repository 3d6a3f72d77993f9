import type { BoundProbe } from './bound-probe.ts';

/** Stage "calibration": slope and offset of the probe, in the metric's store unit. */
export function calibrated(probe: BoundProbe, value: number): number {
  return value * probe.calibration.slope + probe.calibration.offset;
}
