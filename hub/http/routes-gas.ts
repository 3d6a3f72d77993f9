import { type GasView, gasApi } from '../api/gas.ts';
import type { GasNow } from '../judgement/estimate/gas-now.ts';
import { noSystem } from '../model/refusals/no-system.ts';
import type { HttpParts, TypedServer } from './parts.ts';

export function addGasRoute(server: TypedServer, { gas, config }: Pick<HttpParts, 'gas' | 'config'>): void {
  server.get('/api/gas/:system', { schema: gasApi['GET /api/gas/:system'] }, (request): GasView => {
    const found = gas(request.params.system);
    if (found === undefined) throw noSystem(request.params.system, config.systems);
    const { ph, aragonite, isLightTold, transfer, halfLife_h, room_ppm, lowPh, text, cautions } = found;
    return {
      ph: courseView(ph),
      aragonite_saturation: courseView(aragonite),
      is_light_told: isLightTold,
      transfer_per_h:
        transfer === undefined
          ? null
          : {
              likely: transfer.coefficient_per_h,
              low95: transfer.low95,
              high95: transfer.high95,
              nights: transfer.nights,
              is_well_known: transfer.isWellKnown,
            },
      half_life_h: halfLife_h ?? null,
      room_ppm: room_ppm ?? null,
      low_ph:
        lowPh === undefined
          ? null
          : {
              now: lowPh.shown.phNow ?? null,
              in_outdoor_air: lowPh.shown.phInOutdoorAir ?? null,
              in_room_air: lowPh.shown.phInRoomAir ?? null,
              with_reactor: lowPh.shown.phWithReactor ?? null,
              air_in_balance_ppm: lowPh.airInBalance_ppm,
              share_of_room: lowPh.shareOfRoom ?? null,
            },
      text,
      cautions,
    };
  });
}

const courseView = (known: GasNow['ph'] | GasNow['aragonite']): GasView['ph'] =>
  known === undefined
    ? null
    : {
        hours: known.course.map(({ hour, mean, low, high }) => ({ hour, mean, low, high })),
        lowest: known.lowest.value,
        lowest_at: known.lowest.timeMs,
      };
