import type { CorrectionStep, SalinityCorrection } from '#rules/mixing/salinity-correction.ts';

/** The salinity that a step leaves, by the salt that is in the water: the check of `correctSalinity` from its other side. */
export function salinityAfterStep(water: Omit<SalinityCorrection, 'salinityTarget'>, step: CorrectionStep): number {
  const kept = 1 + step.volumeChangeL / water.volumeL;
  return water.salinityNow * kept + (35 * step.salt_g) / (water.volumeL * water.gramsPerLitreAt35);
}
