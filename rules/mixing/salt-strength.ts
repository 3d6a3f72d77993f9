import { OutOfRange, within } from '../quantity/out-of-range.ts';

/** A batch of salt water as it was made and measured. */
export type SaltBatch = {
  /** Of the finished water, 0.1 to 1,000,000 L. */
  volumeL: number;
  /** Salt weighed in, g; 1 to 200 g in each litre. */
  salt_g: number;
  /** Practical salinity measured once it was clear, 1 to 60. */
  salinity: number;
  /** Standard uncertainty of that measurement, 0.001 to 10. */
  salinitySd: number;
};

/** How strong a salt is: grams for one litre of water of salinity 35. */
export type SaltStrength = {
  gramsPerLitreAt35: number;
  /** Standard uncertainty, g/L. */
  sd_g_L: number;
  /** For each batch, in its order: salinity measured less salinity expected by the strength found. */
  residuals: number[];
};

/**
 * Strength of a salt from the keeper's own batches, on the line through zero that fits their salinities best: salt draws
 * water from the air and settles in the bucket, so that a maker's figure may be some percent off.
 *
 * Batches weigh by their stated uncertainty. Where they scatter more than it says, the scatter counts instead.
 *
 * @param batches  of one salt, at least one
 * @throws OutOfRange  for no batch, or one outside the limits of SaltBatch
 * @source weighted least squares through the origin; scatter as in JCGM 100:2008, 4.2
 */
export function saltStrengthFromBatches(batches: readonly SaltBatch[]): SaltStrength {
  if (batches.length < 1) throw new OutOfRange('number of batches', batches.length, '1 or more');
  let crossed = 0;
  let squared = 0;
  const points = batches.map(({ volumeL, salt_g, salinity, salinitySd }) => {
    const grams_L = within(
      'salt, g/L',
      within('salt, g', salt_g, 1e-3, 1e9) / within('volume, L', volumeL, 0.1, 1e6),
      1,
      200,
    );
    within('salinity of a batch', salinity, 1, 60);
    const weight = 1 / within('standard uncertainty of a salinity', salinitySd, 1e-3, 10) ** 2;
    crossed += weight * grams_L * salinity;
    squared += weight * grams_L * grams_L;
    return { grams_L, salinity, weight };
  });
  const salinityPerGram = crossed / squared;
  const residuals = points.map(({ grams_L, salinity }) => salinity - salinityPerGram * grams_L);
  const chiSquared = residuals.reduce((sum, residual, index) => sum + points[index]!.weight * residual * residual, 0);
  const excess = batches.length > 1 ? Math.max(1, chiSquared / (batches.length - 1)) : 1;
  const relativeSd = Math.sqrt(excess / squared) / salinityPerGram;
  const gramsPerLitreAt35 = 35 / salinityPerGram;
  return { gramsPerLitreAt35, sd_g_L: gramsPerLitreAt35 * relativeSd, residuals };
}

/**
 * Salt for a batch of new water made of fresh water, with what the doubt about the salt's strength makes of it.
 *
 * @param volumeL         of the finished water, 0.1 to 1,000,000 L
 * @param salinityTarget  practical salinity, 0 to 45
 * @param strength        20 to 60 g/L at 35; `sd_g_L` 0 for a maker's figure that is taken as it stands
 * @returns grams, and the standard uncertainty of the salinity that they will give
 * @throws OutOfRange  outside these limits
 */
export function saltForBatch(
  volumeL: number,
  salinityTarget: number,
  strength: Pick<SaltStrength, 'gramsPerLitreAt35' | 'sd_g_L'>,
): { salt_g: number; salinitySd: number } {
  const grams_L = within('salt at 35, g/L', strength.gramsPerLitreAt35, 20, 60);
  const sd_g_L = within('standard uncertainty of the salt, g/L', strength.sd_g_L, 0, 60);
  const target = within('salinity target', salinityTarget, 0, 45);
  return {
    salt_g: (within('volume, L', volumeL, 0.1, 1e6) * grams_L * target) / 35,
    salinitySd: (target * sd_g_L) / grams_L,
  };
}
