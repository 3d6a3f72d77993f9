import { correctSalinity } from '#rules/mixing/salinity-correction.ts';
import type { BatchPlanEntry } from '../../model/entries/arrival-schemas.ts';
import { orRefused, Refused } from '../../model/refusals/refused.ts';
import type { Batches } from './batches.ts';

/** What to weigh in, or how much fresh water to exchange; one of the two is 0. */
export type PlannedBatch = {
  salt_g: number;
  /** Fresh water to add so that the whole becomes right, L: nothing is taken out. */
  fresh_l: number;
  gramsPerLitreAt35: number;
  /** Of the salinity that this will give, as far as the salt's strength is in doubt. */
  salinitySd: number;
  /** By the keeper's own batches of this salt; 0 when the maker's figure was typed. */
  batchesMeasured: number;
};

/**
 * Salt for a batch of fresh water, or what brings a batch at hand to the salinity wanted.
 *
 * @throws Refused  not_known when the strength of the salt is not known, out_of_range for a number that no rule allows
 */
export function planBatch(batches: Pick<Batches, 'strength'>, entry: BatchPlanEntry): PlannedBatch {
  const { grams_per_litre_at_35: given, salt, litres, salinity, salinity_now } = entry;
  const learned = given !== undefined || salt === undefined ? undefined : batches.strength(salt);
  const gramsPerLitreAt35 = given ?? learned?.gramsPerLitreAt35;
  if (gramsPerLitreAt35 === undefined)
    throw new Refused(
      'not_known',
      `grams_per_litre_at_35: ${salt === undefined ? 'the strength of the salt is not known' : `no batch of "${salt}" has a measured salinity`}, take it from its label`,
    );
  const step = orRefused(() =>
    correctSalinity({
      volumeL: litres,
      salinityNow: salinity_now,
      salinityTarget: salinity,
      gramsPerLitreAt35,
    }),
  );
  // Too strong: fresh water is poured on top, which makes more of it; by conservation of salt V·S stays.
  const fresh_l = salinity_now > salinity && salinity > 0 ? litres * (salinity_now / salinity - 1) : 0;
  return {
    salt_g: step.salt_g,
    fresh_l,
    gramsPerLitreAt35,
    salinitySd: (Math.abs(salinity - salinity_now) * (learned?.sd_g_L ?? 0)) / gramsPerLitreAt35,
    batchesMeasured: learned?.residuals.length ?? 0,
  };
}
