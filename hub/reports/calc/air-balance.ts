import { defined } from '#rules/plain-data/defined.ts';
import { carbonateFromAlkalinityAndPh } from '#rules/seawater/carbonate-system.ts';
import { lowPhFrom } from '#rules/seawater/low-ph.ts';
import type { Calculation } from './calculation.ts';

export const airBalanceCalculation: Calculation = {
  name: 'air-balance',
  summary:
    'How much of a low pH is due to room air: pH in balance with outdoor air and with the room, beside that of the water',
  inputs: [
    { name: 'salinity', help: '19 to 43' },
    { name: 'temperature_C', help: '5 to 35' },
    { name: 'total_alkalinity_umol_kg', help: '100 to 10000' },
    { name: 'ph_total', help: 'mean of whole days, on the total scale' },
    { name: 'room_ppm', help: 'carbon dioxide in the room air, ppm' },
  ],
  results: ['ph_in_outdoor_air', 'ph_in_room_air', 'air_in_balance_ppm', 'share_of_room'],
  compute(given) {
    const water = {
      salinity: given.number('salinity'),
      temperature_C: given.number('temperature_C'),
      totalAlkalinity_umol_kg: given.number('total_alkalinity_umol_kg'),
    };
    const room_ppm = given.optionalNumber('room_ppm');
    const { pco2_uatm } = carbonateFromAlkalinityAndPh({ ...water, phTotal: given.number('ph_total') });
    const found = lowPhFrom({ ...water, pco2_uatm, ...defined({ room_ppm }) });
    return {
      ph_in_outdoor_air: found.phInOutdoorAir,
      air_in_balance_ppm: found.airInBalance_ppm,
      ...defined({ ph_in_room_air: found.phInRoomAir, share_of_room: found.shareOfRoom }),
    };
  },
};
