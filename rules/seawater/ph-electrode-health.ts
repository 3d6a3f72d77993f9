import type { PhCalibration } from './ph-electrode.ts';

/** Why an electrode is not called good, each with what was found and what is allowed. */
export type HealthReason = {
  what: 'slope_percent' | 'offset_mV' | 'worstResidual_pH' | 'slope_unknown';
  found: number;
  low: number;
  high: number;
};

export type ElectrodeHealth = {
  /** `unproven`: one buffer says nothing about the slope. */
  verdict: 'good' | 'unproven' | 'clean_and_recalibrate' | 'replace';
  slope_percent: number;
  offset_mV: number;
  reasons: HealthReason[];
};

/**
 * Limits of a good electrode and of one past saving. A slope above the upper edge is no virtue: a buffer is stale or was
 * carried over. common practice, no published source (makers' manuals agree within a few percent and 10 mV)
 */
export const electrodeLimits = {
  good: { slope_percent: [95, 102], offset_mV: [-30, 30], worstResidual_pH: [0, 0.05] },
  usable: { slope_percent: [88, 105], offset_mV: [-60, 60], worstResidual_pH: [0, 0.15] },
} as const;

/**
 * What a calibration says about the electrode itself.
 *
 * @param calibration  of calibratePhElectrode
 * @returns the verdict with the slope and offset that justify it; `reasons` is empty only for `good`
 * @source limits as electrodeLimits: common practice, no published source
 */
export function electrodeHealth(calibration: PhCalibration): ElectrodeHealth {
  const found = {
    slope_percent: 100 * calibration.slopeShare,
    offset_mV: calibration.offset_mV,
    worstResidual_pH: calibration.worstResidual_pH,
  };
  const reasons: HealthReason[] = [];
  let isPastSaving = false;
  for (const what of ['slope_percent', 'offset_mV', 'worstResidual_pH'] as const) {
    const [low, high] = electrodeLimits.good[what];
    if (found[what] >= low && found[what] <= high) continue;
    reasons.push({ what, found: found[what], low, high });
    const [lowest, highest] = electrodeLimits.usable[what];
    // A misfit alone is more often a spoilt buffer than a dead electrode.
    if (what !== 'worstResidual_pH' && !(found[what] >= lowest && found[what] <= highest)) isPastSaving = true;
  }
  const isSlopeKnown = calibration.points > 1;
  if (!isSlopeKnown) reasons.push({ what: 'slope_unknown', found: calibration.points, low: 2, high: 3 });
  const base = { slope_percent: found.slope_percent, offset_mV: found.offset_mV, reasons };
  if (isPastSaving) return { verdict: 'replace', ...base };
  if (reasons.some(({ what }) => what !== 'slope_unknown')) return { verdict: 'clean_and_recalibrate', ...base };
  return { verdict: isSlopeKnown ? 'good' : 'unproven', ...base };
}
