import { correctSalinity, salinityCorrectionByDay } from '#rules/mixing/salinity-correction.ts';
import type { Calculation } from './calculation.ts';

export const mixCalculation: Calculation = {
  name: 'mix',
  summary: 'Salt to add to reach a salinity, or water to exchange for fresh to come down to one',
  inputs: [
    { name: 'volume_l', help: 'of the water, litres' },
    { name: 'salinity_now', help: '0 for fresh water of which a batch is made' },
    { name: 'salinity_target', help: 'practical salinity wanted' },
    { name: 'grams_per_litre_at_35', help: 'of the salt mix, by its maker or by your own batches' },
    { name: 'most_per_day', help: 'for a tank with animals: largest change of salinity in a day; adds the days' },
  ],
  results: ['salt_g', 'volume_change_l', 'days', 'first_day_salt_g', 'first_day_volume_change_l'],
  compute(given): Record<string, number> {
    const correction = {
      volumeL: given.number('volume_l'),
      salinityNow: given.number('salinity_now'),
      salinityTarget: given.number('salinity_target'),
      gramsPerLitreAt35: given.number('grams_per_litre_at_35'),
    };
    const step = correctSalinity(correction);
    const whole = { salt_g: step.salt_g, volume_change_l: step.volumeChangeL };
    const mostPerDay = given.optionalNumber('most_per_day');
    if (mostPerDay === undefined) return whole;
    const days = salinityCorrectionByDay(correction, mostPerDay);
    const first = days[0] ?? step;
    return {
      ...whole,
      days: days.length,
      first_day_salt_g: first.salt_g,
      first_day_volume_change_l: first.volumeChangeL,
    };
  },
};
