import { effectOfDose } from '#rules/dosing/effect-of-dose.ts';
import type { Calculation } from './calculation.ts';
import { boronOptions } from './carbonate.ts';

export const doseEffectCalculation: Calculation = {
  name: 'dose-effect',
  summary: 'pH, pCO2 and aragonite saturation right after alkalinity is added, before any gas is exchanged',
  inputs: [
    { name: 'salinity', help: '19 to 43' },
    { name: 'temperature_C', help: '5 to 35' },
    { name: 'start_total_alkalinity_umol_kg', help: 'before the dose' },
    { name: 'start_ph_total', help: 'before the dose, on the total scale' },
    { name: 'addition', help: 'bicarbonate, carbonate or hydroxide' },
    { name: 'added_alkalinity_umol_kg', help: '0 to 5000' },
    { name: 'boron_option', help: 'uppstrom1974 (unless given) or lee2010' },
  ],
  results: ['end_ph_total', 'end_pco2_uatm', 'end_omega_aragonite'],
  compute(given) {
    const effect = effectOfDose({
      salinity: given.number('salinity'),
      temperature_C: given.number('temperature_C'),
      startTotalAlkalinity_umol_kg: given.number('start_total_alkalinity_umol_kg'),
      startPhTotal: given.number('start_ph_total'),
      addition: given.word('addition', ['bicarbonate', 'carbonate', 'hydroxide']),
      addedAlkalinity_umol_kg: given.number('added_alkalinity_umol_kg'),
      boronOption: given.word('boron_option', boronOptions, 'uppstrom1974'),
    });
    return {
      end_ph_total: effect.endPhTotal,
      end_pco2_uatm: effect.endPco2_uatm,
      end_omega_aragonite: effect.endOmegaAragonite,
    };
  },
};
