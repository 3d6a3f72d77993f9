import { limeWaterRoom_L_day, saturatedLime_g_L } from '#rules/dosing/lime-water.ts';
import { riseFromDose } from '#rules/dosing/stoichiometry.ts';
import { substances } from '#rules/dosing/substances.ts';
import type { Calculation } from './calculation.ts';

export const limeWaterCalculation: Calculation = {
  name: 'lime-water',
  summary: 'what lime water as top-off brings in a day, at most as much as evaporates',
  inputs: [
    { name: 'volume_l', help: 'of the whole system' },
    { name: 'evaporation_l_day', help: 'measured, or estimated' },
    { name: 'temperature_C', help: 'of the lime water, 0 to 40; 25 unless given' },
    { name: 'saturation_share', help: 'above 0, to 1; 0.9 unless given' },
    { name: 'other_water_l_day', help: 'fresh water that other doses bring; 0 unless given' },
  ],
  results: ['lime_water_l_day', 'lime_g_l', 'alkalinity_dkh_day', 'calcium_mg_l_day'],
  compute(given) {
    const litres = limeWaterRoom_L_day(
      given.number('evaporation_l_day'),
      given.optionalNumber('other_water_l_day') ?? 0,
    );
    const strength =
      (given.optionalNumber('saturation_share') ?? 0.9) *
      saturatedLime_g_L(given.optionalNumber('temperature_C') ?? 25);
    const rise = riseFromDose(substances.calcium_hydroxide, litres * strength, given.number('volume_l'));
    return {
      lime_water_l_day: litres,
      lime_g_l: strength,
      alkalinity_dkh_day: rise.alkalinity_dKH,
      calcium_mg_l_day: rise.calcium_mg_L,
    };
  },
};
