import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { densityFromSalinityEos80 } from '../seawater/density.ts';

/**
 * Specific heat of seawater near salinity 35 and 25 °C, J/kg/K. Fresh water has 4 % more.
 *
 * @source TEOS-10 (GSW 3.6.16, cp_t_exact at 35.165 g/kg, 25 °C: 3999.0); Millero, Perron & Desnoyers 1973
 */
export const seawaterSpecificHeat_J_kg_K = 3999;

export type HeatingWish = {
  /** 0.1 to 100,000 L. */
  volumeL: number;
  /** Now and wanted, 0 to 35 °C. */
  from_C: number;
  to_C: number;
  /** Of all heaters together, above 0 up to 100,000 W. */
  heater_W: number;
  /** Room, 0 to 40 °C, and what the vessel loses for each degree above it, 0 to 1000 W/K; no loss unless both are given. */
  room_C?: number;
  loss_W_K?: number;
};

/**
 * Hours to warm salt water.
 *
 * @returns 0 when it is warm enough; undefined when the heater cannot reach the temperature against the loss to the room
 * @throws OutOfRange  outside the limits of HeatingWish
 * @source conservation of heat, with Newton's law of cooling for the loss
 */
export function hoursToWarm(wish: HeatingWish): number | undefined {
  const volumeL = within('volume, L', wish.volumeL, 0.1, 1e5);
  const from_C = within('temperature now, °C', wish.from_C, 0, 35);
  const to_C = within('temperature wanted, °C', wish.to_C, 0, 35);
  if (!(wish.heater_W > 0 && wish.heater_W <= 1e5)) {
    throw new OutOfRange('heater, W', wish.heater_W, 'above 0, at most 100000');
  }
  if (to_C <= from_C) return 0;
  const mass_kg = (volumeL * densityFromSalinityEos80(35, 25)) / 1000;
  const heat_J_K = mass_kg * seawaterSpecificHeat_J_kg_K;
  const loss_W_K = wish.room_C === undefined ? 0 : within('loss to the room, W/K', wish.loss_W_K ?? 0, 0, 1000);
  if (loss_W_K === 0) return (heat_J_K * (to_C - from_C)) / wish.heater_W / 3600;
  const room_C = within('room, °C', wish.room_C ?? from_C, 0, 40);
  const spareAtStart_W = wish.heater_W - loss_W_K * (from_C - room_C);
  const spareAtEnd_W = wish.heater_W - loss_W_K * (to_C - room_C);
  if (spareAtEnd_W <= 0) return undefined;
  return ((heat_J_K / loss_W_K) * Math.log(spareAtStart_W / spareAtEnd_W)) / 3600;
}
