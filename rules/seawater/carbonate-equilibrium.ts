import { aragoniteKspMucci1983, calciteKspMucci1983 } from './calcium-carbonate.ts';
import { fugacityOverPressureWeiss1974, solubilityK0Weiss1974 } from './carbon-dioxide-gas.ts';
import {
  bisulfateKsDickson1990,
  boricKbDickson1990,
  carbonicK1Lueker2000,
  carbonicK2Lueker2000,
  fluorideKfDicksonRiley1979,
  waterKwMillero1995,
} from './carbonate-constants.ts';
import { seawaterOverFreeH, totalOverFreeH } from './ph-scale.ts';
import {
  type BoronOption,
  calciumFromSalinity_umol_kg,
  totalBoron_umol_kg,
  totalFluoride_umol_kg,
  totalSulfate_umol_kg,
} from './seawater-composition.ts';

/**
 * All that the carbonate system needs to know of one water, in mol and kg of seawater. K1, K2, KB and KW are on the total
 * scale, KS and KF on the free scale, as published.
 */
export type Equilibrium = {
  k0: number;
  k1: number;
  k2: number;
  kb: number;
  kw: number;
  ks: number;
  kf: number;
  kspAragonite: number;
  kspCalcite: number;
  /** [H] total over [H] free. */
  totalOverFree: number;
  /** fCO2 over pCO2. */
  fugacityOverPressure: number;
  boron: number;
  sulfate: number;
  fluoride: number;
  /** From salinity. */
  calcium: number;
};

/**
 * The constants and totals of one water at one atmosphere, without phosphate, silicate, ammonia or sulfide.
 *
 * @param practicalSalinity  no unit, from 19 to 43 (Lueker et al. 2000)
 * @param temperature_C  from 5 (Mucci 1983) to 35 °C (Lueker et al. 2000)
 * @throws OutOfRange  outside the narrowest range of the sources
 * @source each function's own
 */
export function equilibriumAt(practicalSalinity: number, temperature_C: number, boronOption: BoronOption): Equilibrium {
  const water = { salinity: practicalSalinity, temperature_C };
  const totalOverFree = totalOverFreeH(water);
  return {
    k0: solubilityK0Weiss1974(practicalSalinity, temperature_C),
    k1: carbonicK1Lueker2000(practicalSalinity, temperature_C),
    k2: carbonicK2Lueker2000(practicalSalinity, temperature_C),
    kb: boricKbDickson1990(practicalSalinity, temperature_C),
    kw: (waterKwMillero1995(practicalSalinity, temperature_C) * totalOverFree) / seawaterOverFreeH(water),
    ks: bisulfateKsDickson1990(practicalSalinity, temperature_C),
    kf: fluorideKfDicksonRiley1979(practicalSalinity, temperature_C),
    kspAragonite: aragoniteKspMucci1983(practicalSalinity, temperature_C),
    kspCalcite: calciteKspMucci1983(practicalSalinity, temperature_C),
    totalOverFree,
    fugacityOverPressure: fugacityOverPressureWeiss1974(temperature_C),
    boron: totalBoron_umol_kg(boronOption, practicalSalinity) * 1e-6,
    sulfate: totalSulfate_umol_kg(practicalSalinity) * 1e-6,
    fluoride: totalFluoride_umol_kg(practicalSalinity) * 1e-6,
    calcium: calciumFromSalinity_umol_kg(practicalSalinity) * 1e-6,
  };
}

/** The parts of alkalinity that are not carbonate, mol/kg; `sum` counts the acids negative. */
export type OtherAlkalinity = { borate: number; hydroxide: number; sum: number };

/**
 * Borate, hydroxide and the acids at a concentration of H on the total scale, mol/kg.
 * @source Dickson 1981, Deep-Sea Research 28A:609 (definition of total alkalinity)
 */
export function otherAlkalinity(water: Equilibrium, h: number): OtherAlkalinity {
  const borate = (water.boron * water.kb) / (water.kb + h);
  const hydroxide = water.kw / h;
  const freeH = h / water.totalOverFree;
  const bisulfate = (water.sulfate * freeH) / (water.ks + freeH);
  const fluoric = (water.fluoride * freeH) / (water.kf + freeH);
  return { borate, hydroxide, sum: borate + hydroxide - freeH - bisulfate - fluoric };
}

/** [HCO3] and [CO3] as shares of DIC at a concentration of H on the total scale; the rest of DIC is CO2. */
export function carbonShares(water: Equilibrium, h: number): { co2: number; hco3: number; co3: number } {
  const whole = h * h + water.k1 * h + water.k1 * water.k2;
  return { co2: (h * h) / whole, hco3: (water.k1 * h) / whole, co3: (water.k1 * water.k2) / whole };
}
