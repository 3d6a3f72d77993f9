import { hourMs } from '../clock/durations.ts';
import { amountText, durationText, valueText } from '../words/value-text.ts';
import type { KeepersUnits } from './watched-room.ts';

/** An alkalinity older than this says little about today's pH. */
const freshMs = 96 * hourMs;
/** Outdoor air is about 420 µatm; twice that is a closed room with people in it. Common practice, no published source. */
const stuffyRoom_uatm = 800;
/** A step within so long of a calibration is the probe's until a buffer says otherwise. */
const calibratedMs = 24 * hourMs;
/** Doses of so many hours act together on the pH, and less than this in all cannot move it by a tenth. */
const dosedMs = 3 * hourMs;
const leastDose_dKH = 0.2;

export type WaterAround = {
  /** pH is low, or it is high. */
  side: 'low' | 'high';
  alkalinity_dKH: number | undefined;
  alkalinityAtMs: number;
  /** True inside the band; undefined without a band. */
  isAlkalinityInBand: boolean | undefined;
  /** What the demand filter expects: true while it does not see alkalinity leave its band; undefined before it spoke. */
  isAlkalinityExpectedToStay: boolean | undefined;
  /** Doses that raise alkalinity, oldest first, dKH. */
  doses: readonly { timeMs: number; raisesBy: number }[];
  pco2_uatm: number | undefined;
  /** When this pH probe was last calibrated. */
  calibratedAtMs: number | undefined;
  units: KeepersUnits;
};

/**
 * What the rest of the room says about a pH that left its band: the probe, when it was just calibrated; an overdose, when
 * pH is up and a dose is on record; and room air, when pH is low with alkalinity where it should be, since only carbon
 * dioxide can then have lowered it, and a dose would be the wrong answer.
 *
 * @returns a sentence, or an empty text when nothing can be said
 * @source the carbonate system (Dickson, Sabine & Christian 2007): at steady alkalinity pH falls only as pCO2 rises
 */
export function phHint(around: WaterAround, nowMs: number): string {
  const { calibratedAtMs, units } = around;
  if (calibratedAtMs !== undefined && calibratedAtMs <= nowMs && nowMs - calibratedAtMs <= calibratedMs) {
    return `The probe was calibrated ${durationText(nowMs - calibratedAtMs)} ago: check it in a buffer first.`;
  }
  if (around.side === 'high') {
    const recent = around.doses.filter(({ timeMs }) => timeMs <= nowMs && nowMs - timeMs <= dosedMs);
    const raised_dKH = recent.reduce((sum, { raisesBy }) => sum + raisesBy, 0);
    const last = recent.at(-1);
    if (last === undefined || raised_dKH < leastDose_dKH) return '';
    const amount = amountText('alkalinity', raised_dKH, units);
    return `Doses for ${amount} of alkalinity are on record, the last ${durationText(nowMs - last.timeMs)} ago: likely an overdose.`;
  }
  const { alkalinity_dKH, pco2_uatm } = around;
  if (pco2_uatm !== undefined && pco2_uatm >= stuffyRoom_uatm) {
    return `Carbon dioxide is up (${valueText('pco2', pco2_uatm, units)}): this is room air, so open a window and do not dose for it.`;
  }
  const isFresh = alkalinity_dKH !== undefined && nowMs - around.alkalinityAtMs <= freshMs;
  if (isFresh && around.isAlkalinityInBand === true && around.isAlkalinityExpectedToStay !== false) {
    const tested = valueText('alkalinity', alkalinity_dKH, units);
    const why =
      around.isAlkalinityExpectedToStay === true
        ? `Alkalinity is steady (${tested} at the last test)`
        : `Alkalinity was in its band at the last test (${tested})`;
    return `${why}: room air is the likely cause, so open a window and do not dose for it.`;
  }
  return '';
}
