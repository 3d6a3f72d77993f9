import { densityFromHydrometer, salinityFromHydrometer, sodaLimeExpansion_per_C } from '#rules/seawater/hydrometer.ts';
import { specificGravityPairs } from '#rules/seawater/specific-gravity.ts';
import type { Calculation } from './calculation.ts';

const scales = Object.keys(specificGravityPairs) as (keyof typeof specificGravityPairs)[];

export const hydrometerCalculation: Calculation = {
  name: 'hydrometer',
  summary: 'Salinity from a floating hydrometer, at the temperatures of its scale and of the water',
  inputs: [
    { name: 'reading', help: 'on its scale, such as 1.0264' },
    { name: 'temperature_C', help: 'of the water, -2 to 40' },
    { name: 'scale', help: `temperatures on its scale: ${scales.join(', ')}; 25/25 unless given` },
    { name: 'expansion_per_C', help: 'cubic expansion of its body; soda-lime glass, 25e-6, unless given' },
  ],
  results: ['practical_salinity', 'density_kg_m3'],
  compute(given) {
    const reading = given.number('reading');
    const temperature_C = given.number('temperature_C');
    const hydrometer = {
      pair: specificGravityPairs[given.word('scale', scales, '25/25')],
      expansion_per_C: given.optionalNumber('expansion_per_C') ?? sodaLimeExpansion_per_C,
    };
    return {
      practical_salinity: salinityFromHydrometer(reading, temperature_C, hydrometer),
      density_kg_m3: densityFromHydrometer(reading, temperature_C, hydrometer),
    };
  },
};
