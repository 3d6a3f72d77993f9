import { meqPerLPerDkh } from '../quantity/alkalinity-unit.ts';
import { umolPerKgFromMmolPerL } from '../quantity/amount.ts';
import { atomicWeight_g_mol } from '../quantity/atomic-weights.ts';
import { within } from '../quantity/out-of-range.ts';
import {
  carbonateFromAlkalinityAndDic,
  carbonateFromAlkalinityAndPh,
  carbonateRange,
} from '../seawater/carbonate-system.ts';
import { densityFromSalinityEos80 } from '../seawater/density.ts';

export type Effluent = {
  /** Of what drips out, 0 to 60 dKH, and of the tank water that goes in, 0 to 30 dKH. */
  alkalinity_dKH: number;
  tankAlkalinity_dKH: number;
  /** Share of the media's metal that is magnesium, by moles: 0 of pure chalk or coral gravel, 0.5 of dolomite. */
  magnesiumShare: number;
};

export type EffluentGain = { alkalinity_dKH: number; calcium_mg_L: number; magnesium_mg_L: number };

/**
 * What each litre of a calcium reactor's effluent brings beyond the tank water that it was: the media dissolves as
 * (Ca,Mg)CO3 + CO2 + H2O → (Ca,Mg)2+ + 2 HCO3−, one mole of metal for two equivalents.
 *
 * @returns dKH and mg in each litre of effluent; 0 where it is no stronger than the tank
 * @throws OutOfRange  outside the limits of `Effluent`, a share outside 0 to 0.5
 * @source Dickson, Sabine & Christian 2007, chapter 2 (dissolution of calcium carbonate)
 */
export function effluentGain({ alkalinity_dKH, tankAlkalinity_dKH, magnesiumShare }: Effluent): EffluentGain {
  const out = within('alkalinity of the effluent, dKH', alkalinity_dKH, 0, 60);
  const gain = Math.max(0, out - within('alkalinity of the tank, dKH', tankAlkalinity_dKH, 0, 30));
  const mg = within('share of magnesium in the media', magnesiumShare, 0, 0.5);
  const metal_mmol_L = (gain * meqPerLPerDkh) / 2;
  return {
    alkalinity_dKH: gain,
    calcium_mg_L: metal_mmol_L * (1 - mg) * atomicWeight_g_mol.Ca,
    magnesium_mg_L: metal_mmol_L * mg * atomicWeight_g_mol.Mg,
  };
}

export type ReactorWater = {
  salinity: number;
  temperature_C: number;
  tankAlkalinity_dKH: number;
  /** Total scale. */
  tankPhTotal: number;
  effluentAlkalinity_dKH: number;
  /** Total scale, 5 to 8. */
  effluentPhTotal: number;
};

export type ReactorCarbon = {
  /** Free carbon dioxide in each litre of effluent beyond that of the tank, mmol. */
  co2_mmol_L: number;
  /** pH (total scale) of the tank after a day's effluent, before any gas leaves it: the lowest that it can lead to. */
  phAfterDay: number;
};

/**
 * The carbon dioxide that a reactor's effluent carries into the tank, and what a day of it does to pH while none of it leaves.
 *
 * @param shareOfDay  effluent of a day as a share of the system's volume, 0 to 1
 * @throws OutOfRange  outside the limits of the carbonate system
 * @source the carbonate system of Dickson, Sabine & Christian 2007; mixing conserves alkalinity and DIC
 */
export function reactorCarbon(water: ReactorWater, shareOfDay: number): ReactorCarbon {
  const { salinity, temperature_C } = water;
  const share = within('effluent of a day, share of the volume', shareOfDay, 0, 1);
  const density_kg_L = densityFromSalinityEos80(salinity, temperature_C) / 1000;
  const { tank, effluent } = throughReactor(water);
  const mixedOf = (one: number, other: number): number => one + share * (other - one);
  const after = carbonateFromAlkalinityAndDic({
    salinity,
    temperature_C,
    totalAlkalinity_umol_kg: mixedOf(tank.totalAlkalinity_umol_kg, effluent.totalAlkalinity_umol_kg),
    dic_umol_kg: mixedOf(tank.dic_umol_kg, effluent.dic_umol_kg),
  });
  return {
    co2_mmol_L: ((effluent.co2_umol_kg - tank.co2_umol_kg) * density_kg_L) / 1000,
    phAfterDay: after.phTotal,
  };
}

/**
 * Carbon that the effluent brings with each equivalent of alkalinity that it gains: 1 would be bicarbonate alone, and what is above
 * 1 is the carbon dioxide that the media did not use up.
 *
 * @returns mol/eq; undefined for an effluent no stronger than what went in
 * @throws OutOfRange  outside the limits of the carbonate system
 * @source as `reactorCarbon`
 */
export function effluentCarbon_mol_eq(water: ReactorWater): number | undefined {
  const { tank, effluent } = throughReactor(water);
  const gain = effluent.totalAlkalinity_umol_kg - tank.totalAlkalinity_umol_kg;
  return gain > 0 ? Math.max(0, effluent.dic_umol_kg - tank.dic_umol_kg) / gain : undefined;
}

/** The tank's water as it goes in, and as it comes out. */
function throughReactor(water: ReactorWater) {
  const { salinity, temperature_C } = water;
  const density_kg_L = densityFromSalinityEos80(salinity, temperature_C) / 1000;
  const at = (dKH: number, phTotal: number) => {
    const totalAlkalinity_umol_kg = umolPerKgFromMmolPerL(dKH * meqPerLPerDkh, density_kg_L);
    const known = Math.min(totalAlkalinity_umol_kg, carbonateRange.totalAlkalinity_umol_kg[1]);
    const found = carbonateFromAlkalinityAndPh({ salinity, temperature_C, totalAlkalinity_umol_kg: known, phTotal });
    // At one pH all carbon goes with the alkalinity that borate and hydroxide leave to it: effluent may be stronger than any tank.
    const more = 1 + (totalAlkalinity_umol_kg - known) / (found.hco3_umol_kg + 2 * found.co3_umol_kg);
    return { totalAlkalinity_umol_kg, dic_umol_kg: found.dic_umol_kg * more, co2_umol_kg: found.co2_umol_kg * more };
  };
  return {
    tank: at(water.tankAlkalinity_dKH, water.tankPhTotal),
    effluent: at(water.effluentAlkalinity_dKH, water.effluentPhTotal),
  };
}

/**
 * @source common practice, no published source
 */
export const reactorCautions: readonly string[] = [
  'Carbon dioxide from a bottle: a leak in a closed room makes people faint. Pressure regulator, ventilation, and the supplier’s and local rules first.',
  'The effluent is acidic and rich in carbon dioxide: aerate the tank, and watch its pH at night.',
];
