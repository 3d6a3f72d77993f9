import { nernstSlope_mV_per_pH } from '#rules/seawater/nernst.ts';
import type { Correction, Electrode } from '../../model/journal/calibration-schema.ts';

/** Where the electrode of a pH probe sits when nobody found its offset and slope: an ideal one, at 25 °C. */
export const idealElectrode = { offset_mV: 0, slopeShare: 1, meterTemperature_C: 25 } as const;

/**
 * The reading behind a number on the wire. Nothing is out of range here: an impossible pH must reach the quality stage,
 * which fails it and keeps it as evidence.
 *
 * @param wire  in the metric's store unit, or mV for an electrode's potential
 * @param temperature_C  of the water, for an electrode; undefined while it is not known
 * @returns in the metric's store unit
 * @source Nernst, as phFromPotential
 */
export function corrected(correction: Correction, wire: number, temperature_C: number | undefined): number {
  const { electrode, slope, offset } = correction;
  if (electrode === undefined) return wire * slope + offset;
  const perPh_mV = electrode.slopeShare * slopeAt(electrode, temperature_C);
  return (7 + (electrode.offset_mV - potentialOf(electrode, wire)) / perPh_mV) * slope + offset;
}

/**
 * The number on the wire behind a reading: the inverse of `corrected`, for the same temperature.
 *
 * @param value  in the metric's store unit
 */
export function wireFrom(correction: Correction, value: number, temperature_C: number | undefined): number {
  const { electrode, slope, offset } = correction;
  const uncorrected = (value - offset) / slope;
  if (electrode === undefined) return uncorrected;
  const perPh_mV = electrode.slopeShare * slopeAt(electrode, temperature_C);
  const potential_mV = electrode.offset_mV - perPh_mV * (uncorrected - 7);
  if (electrode.signal === 'mV') return potential_mV;
  return 7 - potential_mV / nernstSlope_mV_per_pH(electrode.meterTemperature_C);
}

export function isSameCorrection(one: Correction, other: Correction): boolean {
  const [a, b] = [one.electrode, other.electrode];
  return (
    one.slope === other.slope &&
    one.offset === other.offset &&
    a?.signal === b?.signal &&
    a?.offset_mV === b?.offset_mV &&
    a?.slopeShare === b?.slopeShare &&
    a?.meterTemperature_C === b?.meterTemperature_C
  );
}

/** True when both start from the same kind of number on the wire, so that one can take the place of the other. */
export function isSameWire(one: Correction, other: Correction): boolean {
  return (one.electrode?.signal === 'mV') === (other.electrode?.signal === 'mV');
}

function potentialOf(electrode: Electrode, wire: number): number {
  return electrode.signal === 'mV' ? wire : -nernstSlope_mV_per_pH(electrode.meterTemperature_C) * (wire - 7);
}

function slopeAt(electrode: Electrode, temperature_C: number | undefined): number {
  // No aquarium lies outside: such a temperature says that its probe is wrong, not that the electrode is.
  const isUsable = temperature_C !== undefined && temperature_C >= 0 && temperature_C <= 50;
  return nernstSlope_mV_per_pH(isUsable ? temperature_C : electrode.meterTemperature_C);
}
