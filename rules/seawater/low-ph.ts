import { fugacityOverPressureWeiss1974, solubilityK0Weiss1974 } from './carbon-dioxide-gas.ts';
import type { CarbonateWater } from './carbonate-system.ts';
import { coefficientAt, outdoorAir_ppm, pco2OfAir_uatm, phFromAlkalinityAndPco2 } from './gas-exchange.ts';

export type LowPhInput = CarbonateWater & {
  totalAlkalinity_umol_kg: number;
  /** Mean of whole days, µatm. */
  pco2_uatm: number;
  /** The room's air, ppm of dry air; absent: nobody has measured it. */
  room_ppm?: number;
  /** Carbon dioxide that a reactor carries in, µmol for each kg of tank water and hour, and the exchange that takes it out again (1/h at 25 °C). */
  reactor?: { co2_umol_kg_h: number; coefficient_per_h: number };
};

/** pH (total scale) step by step from outdoor air to what the water shows, and the CO2 behind each. */
export type LowPh = {
  phInOutdoorAir: number;
  /** In balance with the room's air; absent when that is not measured. */
  phInRoomAir?: number;
  /** With what a reactor carries in on top; absent without one, or while the gas exchange is not known. */
  phWithReactor?: number;
  phNow: number;
  /** CO2 of air with which the water would be in balance, ppm: the room has this much if nothing but its air lowers the pH. */
  airInBalance_ppm: number;
  /** Share of the CO2 above that of outdoor air that is the room's; absent when it is not measured, or when there is none above. */
  shareOfRoom?: number;
};

/**
 * How much of a low pH is room air. What lies between outdoor air and the room is the room's; what lies between the room and the
 * water comes from the tank: respiration, food, a calcium reactor. Alkalinity is the same in all of them.
 *
 * @throws OutOfRange  outside the limits of the carbonate system, or a room outside 0 to 50 000 ppm
 * @source CO2 in steady state: flux out = flux in, so that the partial pressures of its causes add; carbonate system of Dickson, Sabine &
 *   Christian 2007
 */
export function lowPhFrom(input: LowPhInput): LowPh {
  const { pco2_uatm, room_ppm, reactor } = input;
  const phAt = (uatm: number): number => phFromAlkalinityAndPco2(input, uatm);
  const outdoors = pco2OfAir_uatm(outdoorAir_ppm, input);
  const room = room_ppm === undefined ? undefined : pco2OfAir_uatm(room_ppm, input);
  const byReactor =
    reactor === undefined
      ? undefined
      : uatmFromCo2(reactor.co2_umol_kg_h / coefficientAt(reactor.coefficient_per_h, input.temperature_C), input);
  const above = pco2_uatm - outdoors;
  return {
    phInOutdoorAir: phAt(outdoors),
    ...(room === undefined ? {} : { phInRoomAir: phAt(room) }),
    ...(byReactor === undefined ? {} : { phWithReactor: phAt((room ?? outdoors) + byReactor) }),
    phNow: phAt(pco2_uatm),
    airInBalance_ppm: (outdoorAir_ppm * pco2_uatm) / outdoors,
    ...(room === undefined || above <= 0 ? {} : { shareOfRoom: Math.min(1, Math.max(0, (room - outdoors) / above)) }),
  };
}

function uatmFromCo2(co2_umol_kg: number, { salinity, temperature_C }: CarbonateWater): number {
  return co2_umol_kg / solubilityK0Weiss1974(salinity, temperature_C) / fugacityOverPressureWeiss1974(temperature_C);
}
