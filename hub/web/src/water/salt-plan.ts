import type { RoomView } from '../../../api/room.ts';
import type { Hints } from '../corals/form.ts';
import { readNumber } from '../room/read-unit.ts';

/** What the hub says of salt or fresh water for a salinity. */
export type SaltPlan = {
  salt_g: number;
  fresh_l: number;
  grams_per_litre_at_35: number;
  salinity_sd: number;
  batches_measured: number;
  cautions: string[];
};

export const saltHints: Hints = [
  [/grams_per_litre_at_35|salt at 35/, 'grams_per_litre_at_35'],
  [/volume/, 'litres'],
  [/salinity/, 'salinity'],
  [/system/, 'system'],
];

/** Of the sea, practical salinity. */
export const usualSalinity = 35;

/** The salinity of a tank as the room shows it, to begin with; sea water's when it is not known. */
export function tankSalinity(view: RoomView, system: string): string {
  const metrics = view.systems.find(({ id }) => id === system)?.metrics ?? [];
  const value = metrics.find(({ metric }) => metric === 'salinity')?.value;
  return readNumber('salinity', value ?? usualSalinity, 1);
}
