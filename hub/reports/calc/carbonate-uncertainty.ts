import { carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { carbonateUncertainty } from '#rules/seawater/carbonate-uncertainty.ts';
import { type PhWithUncertainty, totalPhFromNbs } from '#rules/seawater/ph-scale.ts';
import type { Calculation, Given } from './calculation.ts';
import { boronOptions } from './carbonate.ts';

function totalPhOf(given: Given): PhWithUncertainty {
  // Common practice for a hobby electrode, no published source.
  const standardUncertainty_pH = given.optionalNumber('ph_sd') ?? 0.05;
  const ph = given.optionalNumber('ph_nbs');
  if (ph === undefined) return { ph: given.number('ph_total'), standardUncertainty_pH };
  const water = { salinity: given.number('salinity'), temperature_C: given.number('temperature_C') };
  return totalPhFromNbs({ ph, standardUncertainty_pH }, water);
}

export const carbonateUncertaintyCalculation: Calculation = {
  name: 'carbonate-uncertainty',
  summary: 'How certain pCO2 and saturation are, by the uncertainty of what they are computed from',
  inputs: [
    { name: 'salinity', help: '19 to 43' },
    { name: 'temperature_C', help: '5 to 35' },
    { name: 'total_alkalinity_umol_kg', help: '100 to 10000' },
    { name: 'ph_total', help: 'on the total scale' },
    {
      name: 'ph_nbs',
      help: 'instead: as an electrode calibrated in NBS buffers shows it; adds the doubt of that scale',
    },
    { name: 'ph_sd', help: 'standard uncertainty of the pH; 0.05 unless given' },
    { name: 'total_alkalinity_sd_umol_kg', help: 'of the alkalinity; 50 unless given' },
    { name: 'salinity_sd', help: 'of the salinity; 0.5 unless given' },
    { name: 'temperature_sd_C', help: 'of the temperature; 0.3 unless given' },
    { name: 'constants', help: 'orr2018 (unless given) counts the constants too, exact the inputs alone' },
    { name: 'boron_option', help: 'uppstrom1974 (unless given) or lee2010' },
  ],
  results: [
    ...['pco2_uatm', 'pco2_sd_uatm', 'pco2_largest_source'],
    ...['omega_aragonite', 'omega_aragonite_sd', 'omega_aragonite_largest_source'],
    ...['dic_umol_kg', 'dic_sd_umol_kg'],
  ],
  compute(given) {
    const { ph, standardUncertainty_pH } = totalPhOf(given);
    const input = {
      salinity: given.number('salinity'),
      temperature_C: given.number('temperature_C'),
      totalAlkalinity_umol_kg: given.number('total_alkalinity_umol_kg'),
      phTotal: ph,
      boronOption: given.word('boron_option', boronOptions, 'uppstrom1974'),
    };
    // Common practice for a drop test and a probe, no published source.
    const inputSd = {
      phTotal: standardUncertainty_pH,
      totalAlkalinity_umol_kg: given.optionalNumber('total_alkalinity_sd_umol_kg') ?? 50,
      salinity: given.optionalNumber('salinity_sd') ?? 0.5,
      temperature_C: given.optionalNumber('temperature_sd_C') ?? 0.3,
    };
    const constants = given.word('constants', ['orr2018', 'exact'], 'orr2018');
    const found = carbonateFromAlkalinityAndPh(input);
    const { combined, largestSource } = carbonateUncertainty(carbonateFromAlkalinityAndPh, input, inputSd, constants);
    return {
      pco2_uatm: found.pco2_uatm,
      pco2_sd_uatm: combined.pco2_uatm,
      pco2_largest_source: largestSource.pco2_uatm,
      omega_aragonite: found.omegaAragonite,
      omega_aragonite_sd: combined.omegaAragonite,
      omega_aragonite_largest_source: largestSource.omegaAragonite,
      dic_umol_kg: found.dic_umol_kg,
      dic_sd_umol_kg: combined.dic_umol_kg,
    };
  },
};
