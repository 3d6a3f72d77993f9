import { meq_L_per_dKH } from '#rules/dosing/stoichiometry.ts';
import { densityFromSalinityEos80 } from '#rules/seawater/density.ts';
import type { SystemSetup, TankWater } from './reef-system.ts';

/**
 * The bookkeeping of simulated water: amounts in, concentrations out. Every process moves amounts, so what evaporation
 * leaves behind is there by construction.
 */

/** Absolute Salinity (g/kg) of a practical salinity of 1, reference composition. @source TEOS-10 manual (2010) */
const absolutePerPractical = 35.16504 / 35;

/** Molar mass of calcium, g/mol. @source IUPAC standard atomic weights 2021 */
const calcium_g_mol = 40.078;

/** Grams that one millimole of each leaves dissolved. @source formula masses of Na2CO3, CaCl2 and CaCO3 */
const solids_g_mmol = { sodiumCarbonate: 0.10599, calciumChloride: 0.11098, calciumCarbonate: 0.10009 } as const;

/** Practical salinity, from the mass fraction of salt. */
export function salinityOf(water: TankWater): number {
  return water.saltG / (water.freshKg + water.saltG / 1000) / absolutePerPractical;
}

/** Mass of water and salt together, kg. */
export function massKgOf(water: TankWater): number {
  return water.freshKg + water.saltG / 1000;
}

/** Volume at the water's own temperature, L. */
export function volumeLOf(water: TankWater): number {
  return massKgOf(water) / (densityFromSalinityEos80(salinityOf(water), water.temperature_C) / 1000);
}

/** dKH. */
export function alkalinityOf(water: TankWater): number {
  return water.alkalinity_mmol / volumeLOf(water) / meq_L_per_dKH;
}

/** mg/L. */
export function calciumOf(water: TankWater): number {
  return (water.calcium_mmol * calcium_g_mol) / volumeLOf(water);
}

/** The water of a system as it is set up. */
export function waterAtStart(setup: SystemSetup): TankWater {
  const { salinity, alkalinity_dKH, calcium_mg_L, dic_umol_kg } = setup.start;
  const massKg = setup.volumeL * (densityFromSalinityEos80(salinity, setup.setpoint_C) / 1000);
  const saltG = salinity * absolutePerPractical * massKg;
  return {
    freshKg: massKg - saltG / 1000,
    saltG,
    alkalinity_mmol: alkalinity_dKH * meq_L_per_dKH * setup.volumeL,
    dic_mmol: (dic_umol_kg * massKg) / 1000,
    calcium_mmol: (calcium_mg_L * setup.volumeL) / calcium_g_mol,
    temperature_C: setup.setpoint_C,
  };
}

/** Takes away pure water; what was dissolved in it stays. */
export function evaporate(water: TankWater, litres: number): void {
  water.freshKg -= litres;
}

/** Adds pure water (its density taken as 1 kg/L). */
export function pourFresh(water: TankWater, litres: number): void {
  water.freshKg += litres;
}

/** Takes away a share of the water with all that is dissolved in it: a drain, or what runs over the brim. */
export function drainShare(water: TankWater, share: number): void {
  const kept = 1 - share;
  water.freshKg *= kept;
  water.saltG *= kept;
  water.alkalinity_mmol *= kept;
  water.dic_mmol *= kept;
  water.calcium_mmol *= kept;
}

/** Pours in salt water of the same temperature. */
export function pourSaltWater(water: TankWater, added: TankWater): void {
  water.freshKg += added.freshKg;
  water.saltG += added.saltG;
  water.alkalinity_mmol += added.alkalinity_mmol;
  water.dic_mmol += added.dic_mmol;
  water.calcium_mmol += added.calcium_mmol;
}

/** Adds sodium carbonate and calcium chloride solutions of 1 mol/L, mL. */
export function dose(water: TankWater, sodiumCarbonateMl: number, calciumChlorideMl: number): void {
  water.alkalinity_mmol += 2 * sodiumCarbonateMl;
  water.dic_mmol += sodiumCarbonateMl;
  water.calcium_mmol += calciumChlorideMl;
  water.saltG += sodiumCarbonateMl * solids_g_mmol.sodiumCarbonate + calciumChlorideMl * solids_g_mmol.calciumChloride;
  water.freshKg += (sodiumCarbonateMl + calciumChlorideMl) / 1000;
}

/** Builds calcium carbonate into skeletons: two equivalents, one carbon and one calcium for each mole. */
export function calcify(water: TankWater, mmol: number): void {
  water.alkalinity_mmol -= 2 * mmol;
  water.dic_mmol -= mmol;
  water.calcium_mmol -= mmol;
  water.saltG -= mmol * solids_g_mmol.calciumCarbonate;
}
