import { effluentGain, reactorCarbon } from '#rules/dosing/calcium-reactor.ts';
import type { Calculation } from './calculation.ts';

export const calciumReactorCalculation: Calculation = {
  name: 'calcium-reactor',
  summary: 'what the effluent of a calcium reactor brings in a day, and how far its carbon dioxide can take the pH',
  inputs: [
    { name: 'volume_l', help: 'of the whole system' },
    { name: 'flow_l_day', help: 'of effluent' },
    { name: 'effluent_alkalinity_dkh', help: 'tested, up to 28' },
    { name: 'effluent_ph_total', help: '5 to 8.5, total scale' },
    { name: 'tank_alkalinity_dkh', help: 'tested' },
    { name: 'tank_ph_total', help: 'total scale' },
    { name: 'salinity', help: '19 to 43; 35 unless given' },
    { name: 'temperature_C', help: '5 to 35; 25 unless given' },
    { name: 'magnesium_share', help: "of the media's metal, by moles, 0 to 0.5; 0 unless given" },
  ],
  results: ['alkalinity_dkh_day', 'calcium_mg_l_day', 'magnesium_mg_l_day', 'co2_mmol_day', 'ph_total_after_day'],
  compute(given) {
    const volumeL = given.number('volume_l');
    const flow = given.number('flow_l_day');
    const tankAlkalinity_dKH = given.number('tank_alkalinity_dkh');
    const alkalinity_dKH = given.number('effluent_alkalinity_dkh');
    const share = flow / volumeL;
    const magnesiumShare = given.optionalNumber('magnesium_share') ?? 0;
    const gain = effluentGain({ alkalinity_dKH, tankAlkalinity_dKH, magnesiumShare });
    const carbon = reactorCarbon(
      {
        salinity: given.optionalNumber('salinity') ?? 35,
        temperature_C: given.optionalNumber('temperature_C') ?? 25,
        tankAlkalinity_dKH,
        effluentAlkalinity_dKH: alkalinity_dKH,
        tankPhTotal: given.number('tank_ph_total'),
        effluentPhTotal: given.number('effluent_ph_total'),
      },
      share,
    );
    return {
      alkalinity_dkh_day: share * gain.alkalinity_dKH,
      calcium_mg_l_day: share * gain.calcium_mg_L,
      magnesium_mg_l_day: share * gain.magnesium_mg_L,
      co2_mmol_day: flow * carbon.co2_mmol_L,
      ph_total_after_day: carbon.phAfterDay,
    };
  },
};
