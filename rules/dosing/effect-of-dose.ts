import { defined } from '../plain-data/defined.ts';
import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { carbonateFromAlkalinityAndDic, carbonateFromAlkalinityAndPh } from '../seawater/carbonate-system.ts';
import type { BoronOption } from '../seawater/seawater-composition.ts';
import type { CarbonateAddition } from './substance.ts';

/** An addition that carries alkalinity. */
export type AlkalineAddition = Exclude<CarbonateAddition, 'none'>;

/** Moles of dissolved inorganic carbon that come with one equivalent of alkalinity. */
export const carbonPerAlkalinity: Record<AlkalineAddition, number> = { bicarbonate: 1, carbonate: 0.5, hydroxide: 0 };

/** What a dose of base is: its kind, and the carbon of one equivalent where that is another than the kind's. */
export type DoseCarbon = {
  addition: AlkalineAddition;
  /** Moles of dissolved inorganic carbon with each equivalent, 0 to 10: above 1 free carbon dioxide comes along. */
  carbon_mol_eq?: number;
};

/** Moles of dissolved inorganic carbon that come with one equivalent of a dose. */
export function carbonOf({ addition, carbon_mol_eq }: DoseCarbon): number {
  return carbon_mol_eq ?? carbonPerAlkalinity[addition];
}

/** The water before a dose. */
export type WaterBeforeDose = {
  /** Practical salinity, 19 to 43. */
  salinity: number;
  /** ITS-90, 5 to 35 °C. */
  temperature_C: number;
  startTotalAlkalinity_umol_kg: number;
  /** pH on the total scale. */
  startPhTotal: number;
  /** `uppstrom1974` unless given. */
  boronOption?: BoronOption;
  /** Measured, mg/L; absent: that of natural seawater of this salinity. */
  calcium_mg_L?: number;
};

export type DoseEffect = {
  /** pH on the total scale. */
  endPhTotal: number;
  endPco2_uatm: number;
  /** With the measured calcium where it is given, else with that of natural seawater of this salinity. */
  endOmegaAragonite: number;
  endCo3_umol_kg: number;
  endTotalAlkalinity_umol_kg: number;
  endDic_umol_kg: number;
};

/**
 * What the water is right after a dose of alkalinity is mixed in, before any CO2 moves between water and air and before
 * anything precipitates: the worst of the pH swing. Where the dose goes in, before it is mixed, both are far higher.
 *
 * @param dose.addition                 what kind of base
 * @param dose.addedAlkalinity_umol_kg  0 to 5000 µmol/kg of tank water
 * @throws OutOfRange  outside these limits and those of the carbonate system, before or after the dose
 * @source the carbonate system of Dickson, Sabine & Christian 2007; checked against fixtures/reference/carbonate-dosing.csv
 */
export function effectOfDose(dose: WaterBeforeDose & DoseCarbon & { addedAlkalinity_umol_kg: number }): DoseEffect {
  const { salinity, temperature_C, boronOption } = dose;
  const water = { salinity, temperature_C, boronOption };
  const added = within('added alkalinity, µmol/kg', dose.addedAlkalinity_umol_kg, 0, 5000);
  const start = carbonateFromAlkalinityAndPh({
    ...water,
    totalAlkalinity_umol_kg: dose.startTotalAlkalinity_umol_kg,
    phTotal: dose.startPhTotal,
  });
  const endTotalAlkalinity_umol_kg = dose.startTotalAlkalinity_umol_kg + added;
  const endDic_umol_kg = start.dic_umol_kg + added * carbonOf(dose);
  const end = carbonateFromAlkalinityAndDic({
    ...water,
    totalAlkalinity_umol_kg: endTotalAlkalinity_umol_kg,
    dic_umol_kg: endDic_umol_kg,
    ...defined({ calcium_mg_L: dose.calcium_mg_L }),
  });
  return {
    endPhTotal: end.phTotal,
    endPco2_uatm: end.pco2_uatm,
    endOmegaAragonite: end.omegaAragoniteMeasuredCalcium ?? end.omegaAragonite,
    endCo3_umol_kg: end.co3_umol_kg,
    endTotalAlkalinity_umol_kg,
    endDic_umol_kg,
  };
}

export type AdditionLimits = {
  /** Total scale, 7 to 9.5. */
  highestPhTotal: number;
  /** Above 0. */
  mostPhRise: number;
  /** Total scale, after the dose; absent: none. */
  leastPhTotal?: number;
  /** Saturation of aragonite after the dose. */
  highestOmegaAragonite: number;
  /** 0 to 5000 µmol/kg. */
  mostAddedAlkalinity_umol_kg: number;
};

/**
 * The largest single addition that keeps all limits. Bicarbonate lowers pH in water of a usual pH, so for it pH sets no limit.
 *
 * @returns µmol/kg; 0 when the water is past a limit already, or such that the carbonate system says nothing about it: what
 *   cannot be judged is not dosed
 * @throws OutOfRange  for limits outside these
 */
export function largestAdditionWithin(water: WaterBeforeDose & DoseCarbon, limits: AdditionLimits): number {
  const highest = within('highest pH', limits.highestPhTotal, 7, 9.5);
  const most = within('most added alkalinity, µmol/kg', limits.mostAddedAlkalinity_umol_kg, 0, 5000);
  const highestPh = Math.min(highest, water.startPhTotal + limits.mostPhRise);
  const isAllowed = (added: number): boolean => {
    try {
      const end = effectOfDose({ ...water, addedAlkalinity_umol_kg: added });
      // With nothing added the pH is that of the water, whatever the last bit of the way back says.
      if (added > 0 && end.endPhTotal < (limits.leastPhTotal ?? 0)) return false;
      return (added === 0 || end.endPhTotal <= highestPh) && end.endOmegaAragonite <= limits.highestOmegaAragonite;
    } catch (error) {
      // Past pH 10 the carbonate system gives no number; that is beyond any limit asked for.
      if (error instanceof OutOfRange) return false;
      throw error;
    }
  };
  if (water.startPhTotal > highest || !isAllowed(0)) return 0;
  if (isAllowed(most)) return most;
  let low = 0;
  let high = most;
  // 40 halvings of 5000 end below 5e-9 µmol/kg.
  for (let step = 0; step < 40; step += 1) {
    const middle = (low + high) / 2;
    if (isAllowed(middle)) low = middle;
    else high = middle;
  }
  return low;
}
