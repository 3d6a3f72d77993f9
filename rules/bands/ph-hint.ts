import type { KeepersUnits } from './watched-room.ts';
import { valueText } from './words.ts';

/** An alkalinity older than this says little about today's pH. */
const freshMs = 4 * 86_400_000;
/** Outdoor air is about 420 µatm; twice that is a closed room with people in it. Common practice, no published source. */
const stuffyRoom_uatm = 800;

export type WaterAround = {
  alkalinity_dKH: number | undefined;
  alkalinityAtMs: number;
  /** True inside the band; undefined without a band. */
  isAlkalinityInBand: boolean | undefined;
  pco2_uatm: number | undefined;
  units: KeepersUnits;
};

/**
 * What the carbonate system says about a pH that is low: with alkalinity where it should be, only carbon dioxide can have
 * lowered it, and a dose would be the wrong answer.
 *
 * @returns a sentence, or an empty text when nothing can be said
 */
export function lowPhHint(around: WaterAround, nowMs: number): string {
  const { alkalinity_dKH, pco2_uatm } = around;
  if (pco2_uatm !== undefined && pco2_uatm >= stuffyRoom_uatm) {
    return `Carbon dioxide is up (${valueText('pco2', pco2_uatm, around.units)}): this is room air, so open a window and do not dose for it.`;
  }
  const isFresh = alkalinity_dKH !== undefined && nowMs - around.alkalinityAtMs <= freshMs;
  if (isFresh && around.isAlkalinityInBand === true) {
    return `Alkalinity was in its band at the last test (${valueText('alkalinity', alkalinity_dKH, around.units)}): room air is the likely cause, so open a window and do not dose for it.`;
  }
  return '';
}
