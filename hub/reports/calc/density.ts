import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { specificGravityFromSalinity, specificGravityPairs } from '#rules/seawater/specific-gravity.ts';
import type { Calculation } from './calculation.ts';

export const densityCalculation: Calculation = {
  name: 'density',
  summary: 'Density by EOS-80 at one atmosphere, and specific gravity at four pairs of temperatures',
  inputs: [
    { name: 'practical_salinity', help: '0 to 42' },
    { name: 'temperature_C', help: 'of the water, ITS-90' },
  ],
  results: ['density_eos80_kg_m3', 'sg_same_temperature', 'sg_20_20', 'sg_25_25', 'sg_60F_60F'],
  compute(given) {
    const salinity = given.number('practical_salinity');
    const temperature_C = given.number('temperature_C');
    return {
      density_eos80_kg_m3: densityFromSalinityEos80(salinity, temperature_C),
      sg_same_temperature: specificGravityFromSalinity(salinity, {
        seawater_C: temperature_C,
        pureWater_C: temperature_C,
      }),
      sg_20_20: specificGravityFromSalinity(salinity, specificGravityPairs['20/20']),
      sg_25_25: specificGravityFromSalinity(salinity, specificGravityPairs['25/25']),
      sg_60F_60F: specificGravityFromSalinity(salinity, specificGravityPairs['60F/60F']),
    };
  },
};
