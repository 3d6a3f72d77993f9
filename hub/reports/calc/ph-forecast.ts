import { phAfterHours } from '#rules/dosing/ph-forecast.ts';
import type { Calculation } from './calculation.ts';
import { boronOptions } from './carbonate.ts';

export const phForecastCalculation: Calculation = {
  name: 'ph-forecast',
  summary: 'pH some hours after alkalinity is added, with the gas exchange of a tank, beside the same hour without it',
  inputs: [
    { name: 'salinity', help: '19 to 43' },
    { name: 'temperature_C', help: '5 to 35' },
    { name: 'start_total_alkalinity_umol_kg', help: 'before the dose' },
    { name: 'start_ph_total', help: 'before the dose, on the total scale' },
    { name: 'addition', help: 'bicarbonate, carbonate or hydroxide' },
    { name: 'added_alkalinity_umol_kg', help: '0 to 5000' },
    { name: 'transfer_per_h', help: 'gas exchange at 25 °C, 0 to 20, as "long-term gas" gives it' },
    { name: 'hours', help: 'after the start of the dose, 0 to 240' },
    { name: 'over_hours', help: 'spread evenly over this many hours; all at once unless given' },
    { name: 'boron_option', help: 'uppstrom1974 (unless given) or lee2010' },
  ],
  results: ['end_ph_total', 'ph_total_at_once'],
  compute(given) {
    const dose = {
      salinity: given.number('salinity'),
      temperature_C: given.number('temperature_C'),
      startTotalAlkalinity_umol_kg: given.number('start_total_alkalinity_umol_kg'),
      startPhTotal: given.number('start_ph_total'),
      addition: given.word('addition', ['bicarbonate', 'carbonate', 'hydroxide']),
      addedAlkalinity_umol_kg: given.number('added_alkalinity_umol_kg'),
      coefficient_per_h: given.number('transfer_per_h'),
      boronOption: given.word('boron_option', boronOptions, 'uppstrom1974'),
    };
    const overHours = given.optionalNumber('over_hours') ?? 0;
    return {
      end_ph_total: phAfterHours({ ...dose, overHours }, given.number('hours')),
      ph_total_at_once: phAfterHours({ ...dose, overHours: 0 }, 0),
    };
  },
};
