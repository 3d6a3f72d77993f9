import { OutOfRange, within } from '../quantity/out-of-range.ts';

/** A body of water whose salinity is to be brought to another. */
export type SalinityCorrection = {
  /** True volume of water, 0.1 to 1,000,000 L. */
  volumeL: number;
  /** Practical salinity now, 0 to 60: 0 for fresh water of which a batch is to be made. */
  salinityNow: number;
  /** Practical salinity wanted, 0 to 45. */
  salinityTarget: number;
  /** Grams of the salt mix that make one litre of water of salinity 35, 20 to 60, by its maker or by one's own batches. */
  gramsPerLitreAt35: number;
};

/**
 * What to do to the water. One of the two is always 0.
 *
 * `salt_g`: to raise, add so many grams to the water as it stands.
 * `volumeChangeL`: to lower, exchange so many litres: negative, since that much tank water is taken out; as much fresh water
 * (salinity 0) goes in, so that the volume stays.
 */
export type CorrectionStep = { salt_g: number; volumeChangeL: number };

/**
 * Salt to add, or water to exchange for fresh, to bring water to a salinity.
 *
 * Salt by the litre is taken to grow in step with salinity, and a litre of fresh water to weigh as much as one of sea water.
 * It weighs 2.6 % less, so that lowering 35 to 33 ends near 33.05, and raising 33 to 35 near 34.93: measure, and correct
 * again.
 *
 * @throws OutOfRange  outside the limits of SalinityCorrection
 * @source conservation of salt
 */
export function correctSalinity(correction: SalinityCorrection): CorrectionStep {
  const volumeL = within('volume, L', correction.volumeL, 0.1, 1e6);
  const now = within('salinity now', correction.salinityNow, 0, 60);
  const target = within('salinity target', correction.salinityTarget, 0, 45);
  const gramsPerLitreAt35 = within('salt at 35, g/L', correction.gramsPerLitreAt35, 20, 60);
  if (target >= now) return { salt_g: (volumeL * gramsPerLitreAt35 * (target - now)) / 35, volumeChangeL: 0 };
  return { salt_g: 0, volumeChangeL: -volumeL * (1 - target / now) };
}

/** One day of a correction, and the salinity it leaves. */
export type CorrectionDay = CorrectionStep & { salinityAfter: number };

/** More days than this are no correction any more. */
const mostDays = 366;

/**
 * A correction spread over days, so that salinity moves no more in a day than the band allows: each day in equal steps.
 *
 * @param mostPerDay  most change of salinity in a day, 0.01 to 10
 * @returns one step a day, oldest first; none when the salinity is right already
 * @throws OutOfRange  outside these limits, and for a correction of more than 366 days
 */
export function salinityCorrectionByDay(correction: SalinityCorrection, mostPerDay: number): CorrectionDay[] {
  correctSalinity(correction);
  const change = correction.salinityTarget - correction.salinityNow;
  // A hair off, so that 1.5 at 0.5 a day is three days and not four for the last digit of a float.
  const days = Math.ceil(Math.abs(change) / within('most change in a day', mostPerDay, 0.01, 10) - 1e-9);
  if (days > mostDays) throw new OutOfRange('days of the correction', days, `up to ${mostDays}`);
  return Array.from({ length: days }, (_, day) => {
    const salinityNow = correction.salinityNow + (change * day) / days;
    const salinityAfter =
      day === days - 1 ? correction.salinityTarget : correction.salinityNow + (change * (day + 1)) / days;
    return { ...correctSalinity({ ...correction, salinityNow, salinityTarget: salinityAfter }), salinityAfter };
  });
}

/** Shown with every batch that is made up. Common practice, no published source. */
export const batchCautions: readonly string[] = [
  'Start with purified fresh water (reverse osmosis or deionised) in a clean vessel of its own, and stir the salt into it; never pour water onto dry salt, never put dry salt into a tank with animals.',
  'Mix it until it is clear, bring it to the temperature of the tank, and measure its salinity before it goes in.',
];

/** Shown with every step that adds salt to a tank. Common practice, no published source. */
export const saltCautions: readonly string[] = [
  'Dissolve the salt in a separate vessel of tank water and add it slowly where the flow is strong; never as dry salt onto animals.',
  'Mix a batch until it is clear, at the temperature of the tank, and measure its salinity before it goes in.',
  'Measure again after the water has turned over, before the next step.',
];
