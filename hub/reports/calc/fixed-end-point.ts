import { dkhFromMeqPerL } from '#rules/quantity/alkalinity-unit.ts';
import { fugacityOverPressureWeiss1974, solubilityK0Weiss1974 } from '#rules/seawater/carbon-dioxide-gas.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import { convertPh } from '#rules/seawater/ph-scale.ts';
import {
  alkalinityFromAcidToPh,
  apparentAlkalinity_umol_kg,
  type CarbonInCell,
  equivalencePhFree,
} from '#rules/titration/fixed-end-point.ts';
import { titrationChemistry } from '#rules/titration/seawater-titration.ts';
import type { Calculation, Given } from './calculation.ts';

/** Of the air outside; a closed room holds up to three times as much. @source Global Monitoring Laboratory, 2023: 419 ppm (from memory) */
const airCo2_ppm = 420;

function carbonOf(given: Given, salinity: number, temperature_C: number): CarbonInCell {
  if (given.word('cell', ['open', 'closed'], 'open') === 'closed')
    return { kind: 'closed', dic_umol_kg: given.number('sample_dic_umol_kg') };
  const ppm = given.optionalNumber('air_co2_ppm') ?? airCo2_ppm;
  const k0 = solubilityK0Weiss1974(salinity, temperature_C);
  return { kind: 'open', dissolvedCo2_umol_kg: ppm * k0 * fugacityOverPressureWeiss1974(temperature_C) };
}

export const fixedEndPointCalculation: Calculation = {
  name: 'fixed-end-point',
  summary:
    'True alkalinity from the acid to one fixed pH, what counting all of the acid would make of it, and the pH to stop at',
  inputs: [
    { name: 'salinity', help: '19 to 43' },
    { name: 'temperature_C', help: '5 to 35' },
    { name: 'sample_volume_mL', help: 'of the sample' },
    { name: 'acid_g', help: 'acid to that pH, grams' },
    { name: 'acid_concentration_mol_kg', help: '0.001 to 2' },
    { name: 'end_ph_nbs', help: 'where it was stopped, by an electrode calibrated in buffers; 4.5 is usual' },
    { name: 'cell', help: 'open (stirred in the air, unless given) or closed: all CO2 is kept' },
    { name: 'sample_dic_umol_kg', help: 'for closed: inorganic carbon of the sample' },
    { name: 'air_co2_ppm', help: `for open: of the room's air; ${airCo2_ppm} unless given` },
  ],
  results: ['total_alkalinity_umol_kg', 'total_alkalinity_dkh', 'apparent_ta_umol_kg', 'equivalence_ph_nbs'],
  compute(given) {
    const salinity = given.number('salinity');
    const temperature_C = given.number('temperature_C');
    const acid_g = given.number('acid_g');
    const density_g_mL = densityFromSalinityEos80(salinity, temperature_C) / 1000;
    const titration = {
      chemistry: titrationChemistry(salinity, temperature_C),
      sample_g: given.number('sample_volume_mL') * density_g_mL,
      acid_mol_kg: given.number('acid_concentration_mol_kg'),
      carbon: carbonOf(given, salinity, temperature_C),
    };
    const water = { salinity, temperature_C };
    const phFree = convertPh(given.number('end_ph_nbs'), 'nbs', 'free', water);
    const alkalinity_umol_kg = alkalinityFromAcidToPh(titration, acid_g, phFree);
    return {
      total_alkalinity_umol_kg: alkalinity_umol_kg,
      total_alkalinity_dkh: dkhFromMeqPerL((alkalinity_umol_kg * density_g_mL) / 1000),
      apparent_ta_umol_kg: apparentAlkalinity_umol_kg(titration, acid_g),
      equivalence_ph_nbs: convertPh(equivalencePhFree(titration, alkalinity_umol_kg), 'free', 'nbs', water),
    };
  },
};
