import { defined } from '#rules/plain-data/defined.ts';
import { carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import type { Calculation } from './calculation.ts';

export const boronOptions = ['uppstrom1974', 'lee2010'] as const;

export const carbonateCalculation: Calculation = {
  name: 'carbonate',
  summary: 'The carbonate system from alkalinity and pH on the total scale',
  inputs: [
    { name: 'salinity', help: '19 to 43' },
    { name: 'temperature_C', help: '5 to 35' },
    { name: 'total_alkalinity_umol_kg', help: '100 to 10000' },
    { name: 'ph_total', help: 'on the total scale' },
    { name: 'boron_option', help: 'uppstrom1974 (unless given) or lee2010' },
    { name: 'calcium_measured_mg_L', help: 'adds the saturation with this calcium' },
  ],
  results: [
    'dic_umol_kg',
    'pco2_uatm',
    'co2_umol_kg',
    'hco3_umol_kg',
    'co3_umol_kg',
    'omega_aragonite',
    'omega_aragonite_measured_calcium',
  ],
  compute(given) {
    const found = carbonateFromAlkalinityAndPh({
      salinity: given.number('salinity'),
      temperature_C: given.number('temperature_C'),
      totalAlkalinity_umol_kg: given.number('total_alkalinity_umol_kg'),
      phTotal: given.number('ph_total'),
      boronOption: given.word('boron_option', boronOptions, 'uppstrom1974'),
      calcium_mg_L: given.optionalNumber('calcium_measured_mg_L'),
    });
    return {
      dic_umol_kg: found.dic_umol_kg,
      pco2_uatm: found.pco2_uatm,
      co2_umol_kg: found.co2_umol_kg,
      hco3_umol_kg: found.hco3_umol_kg,
      co3_umol_kg: found.co3_umol_kg,
      omega_aragonite: found.omegaAragonite,
      ...defined({ omega_aragonite_measured_calcium: found.omegaAragoniteMeasuredCalcium }),
    };
  },
};
