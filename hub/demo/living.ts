import { meq_L_per_dKH } from '#rules/dosing/stoichiometry.ts';
import type { SystemState, TankWater } from './reef-system.ts';
import { meanLight, type RoomAir, staleAirPco2_uatm } from './room-air.ts';
import { calcify, dose, massKgOf, volumeLOf } from './water.ts';
import { carbonateOf } from './water-carbonate.ts';

/**
 * Calcification in the dark as a share of the day's mean; at full light it is then about three times as fast.
 * @source median ratio of light to dark calcification 3: Gattuso, Allemand & Frankignoulle 1999, American Zoologist 39,
 *   from memory
 */
const darkShare = 0.55;

/**
 * Aragonite saturation at which the corals calcify at the rate of their setup; the rate goes with (saturation - 1).
 * @source the linear rate law is that of Langdon et al. 2000, Global Biogeochemical Cycles 14, from memory
 */
const referenceSaturation = 4.6;

/** Takes in, gives off, calcifies, breathes with the room and receives its doses over a short time. */
export function live(water: TankWater, system: SystemState, air: RoomAir, light: number, seconds: number): void {
  const { setup } = system;
  const hours = seconds / 3600;
  const massKg = massKgOf(water);
  const carbonate = carbonateOf(water);

  const net_umol_kg_h = setup.respiration_umol_kg_h - setup.photosynthesis_umol_kg_h * light;
  const airPco2 = system.faults.includes('stale_air') ? staleAirPco2_uatm : air.pco2_uatm;
  // Henry's law: at equal pCO2 the water holds what it holds now, so the ratio scales it to the air's.
  const atEquilibrium_umol_kg = (carbonate.co2_umol_kg * airPco2) / carbonate.pco2_uatm;
  const gas_umol_kg_h = setup.gasTransfer_h * (atEquilibrium_umol_kg - carbonate.co2_umol_kg);
  water.dic_mmol += ((net_umol_kg_h + gas_umol_kg_h) * hours * massKg) / 1000;

  const saturationFactor = Math.max(0, (carbonate.omegaAragonite - 1) / (referenceSaturation - 1));
  const lightFactor = darkShare + ((1 - darkShare) * light) / meanLight(setup);
  const used_dKH = ((system.calcification_dKH_day * hours) / 24) * lightFactor * saturationFactor;
  calcify(water, (used_dKH * meq_L_per_dKH * volumeLOf(water)) / 2);

  if (!system.faults.includes('dosing_stopped')) {
    const { sodiumCarbonate, calciumChloride } = setup.dosing_mL_day;
    dose(water, (sodiumCarbonate * hours) / 24, (calciumChloride * hours) / 24);
  }
}
