import type { Store } from '#adapters/ports/store.ts';
import { type ArrivalWater, waterForArrival } from '#rules/arrivals/prepare.ts';
import { hourMs } from '#rules/clock/durations.ts';
import { defined } from '#rules/plain-data/defined.ts';
import type { PrepareEntry } from '../../model/entries/arrival-schemas.ts';
import { orRefused, Refused } from '../../model/refusals/refused.ts';
import type { Batches } from '../water/batches.ts';
import { factNow } from '../water/water-now.ts';

type Sources = { store: Pick<Store, 'journal' | 'series' | 'latest'>; batches: Pick<Batches, 'strength'> };

/** What to have ready; `startByMs` when it was said when the corals come. */
export type Prepared = ArrivalWater & { salinity: number; startByMs?: number };

/**
 * Water, salt and time for an arrival, with what the hub knows of the tank and the salt in place of what was not given.
 *
 * @throws Refused  not_known when neither says, out_of_range for a number that no rule allows
 */
export function prepareArrival(sources: Sources, entry: PrepareEntry, nowMs: number): Prepared {
  const salinity = salinityOf(sources, entry, nowMs);
  const wish = {
    pieces: entry.pieces,
    vesselL: entry.vessel_l,
    salinity,
    strength: strengthOf(sources, entry),
    ...defined({ bagWaterL: entry.bag_water_l, tankShare: entry.tank_share, mixingHours: entry.mixing_hours }),
    ...warmOf(sources, entry, nowMs),
  };
  const water = orRefused(() => waterForArrival(wish));
  const expectedMs = entry.expected === undefined ? undefined : Date.parse(entry.expected);
  const startByMs = expectedMs === undefined ? {} : { startByMs: expectedMs - water.leadHours * hourMs };
  return { ...water, salinity, ...startByMs };
}

function salinityOf({ store }: Sources, entry: PrepareEntry, nowMs: number): number {
  const found = entry.salinity ?? factNow(store, entry.system, 'salinity', nowMs)?.value;
  if (found !== undefined) return found;
  throw new Refused('not_known', 'the salinity of the tank is not known: measure it, or give salinity');
}

function strengthOf({ batches }: Sources, { salt, grams_per_litre_at_35 }: PrepareEntry) {
  if (grams_per_litre_at_35 !== undefined) return { gramsPerLitreAt35: grams_per_litre_at_35, sd_g_L: 0 };
  const learned = salt === undefined ? undefined : batches.strength(salt);
  if (learned !== undefined) return learned;
  const why =
    salt === undefined ? 'the strength of the salt is not known' : `no batch of "${salt}" has a measured salinity`;
  throw new Refused('not_known', `grams_per_litre_at_35: ${why}, take it from its label`);
}

function warmOf({ store }: Sources, { warm, system }: PrepareEntry, nowMs: number) {
  if (warm === undefined) return {};
  const to_C = warm.to_c ?? factNow(store, system, 'temperature', nowMs)?.value;
  if (to_C === undefined)
    throw new Refused('not_known', "the tank's temperature is not known: measure it, or give warm.to_c");
  const { from_c: from_C, heater_w: heater_W, room_c, loss_w_k } = warm;
  const room = {
    ...defined({ room_C: room_c, loss_W_K: loss_w_k }),
  };
  return { warm: { from_C, to_C, heater_W, ...room } };
}
