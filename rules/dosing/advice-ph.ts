import { meqPerLFromDkh } from '../quantity/alkalinity-unit.ts';
import { umolPerKgFromMmolPerL } from '../quantity/amount.ts';
import { densityFromSalinityEos80 } from '../seawater/density.ts';
import { dayMs } from './advice-facts.ts';
import type { Strength } from './advice-product.ts';
import type { AdviceInput, KnownFact } from './advice-types.ts';
import { type AlkalineAddition, effectOfDose, largestAdditionBelowPh } from './effect-of-dose.ts';

/** The water in which a dose lands, with what had to be assumed. */
export type DoseWater = {
  salinity: number;
  temperature_C: number;
  alkalinity_dKH: number;
  phTotal: number;
  assumed: string[];
};

/**
 * What stands in for a fact that is missing, suspect, too old (days) or out of any reef's range. The pH is the upper end of a
 * usual day, so that a dose is judged strictly. @source common practice, no published source
 */
const fallbacks = {
  salinity: { name: 'salinity', value: 35, mostDays: 14, low: 25, high: 42 },
  temperature_C: { name: 'temperature (°C)', value: 25, mostDays: 2, low: 15, high: 33 },
  phTotal: { name: 'pH (total scale)', value: 8.2, mostDays: 1, low: 7, high: 9 },
};

/** What is known of the water now, and a cautious guess for the rest. */
export function doseWater(input: AdviceInput, alkalinity_dKH: number): DoseWater {
  const assumed: string[] = [];
  const known = (fact: KnownFact | undefined, fallback: (typeof fallbacks)[keyof typeof fallbacks]): number => {
    const isUsable = fact !== undefined && fact.isSuspect !== true && fact.ageMs <= fallback.mostDays * dayMs;
    if (isUsable && fact.value >= fallback.low && fact.value <= fallback.high) return fact.value;
    assumed.push(`${fallback.name} ${fallback.value}`);
    return fallback.value;
  };
  return {
    salinity: known(input.water.salinity, fallbacks.salinity),
    temperature_C: known(input.water.temperature_C, fallbacks.temperature_C),
    phTotal: known(input.water.phTotal, fallbacks.phTotal),
    alkalinity_dKH: Math.min(25, Math.max(1, alkalinity_dKH)),
    assumed,
  };
}

function umol_kgFromDkh(water: DoseWater, alkalinity_dKH: number): number {
  const density_kg_L = densityFromSalinityEos80(water.salinity, water.temperature_C) / 1000;
  return umolPerKgFromMmolPerL(meqPerLFromDkh(alkalinity_dKH), density_kg_L);
}

function beforeDose(water: DoseWater, addition: AlkalineAddition) {
  const { salinity, temperature_C } = water;
  return {
    ...{ salinity, temperature_C, addition, startPhTotal: water.phTotal },
    startTotalAlkalinity_umol_kg: umol_kgFromDkh(water, water.alkalinity_dKH),
  };
}

/** A solution of unknown make-up is judged as hydroxide, which lifts pH the most. */
const judgedAs = (addition: Exclude<Strength['addition'], 'none'>): AlkalineAddition =>
  addition === 'unknown' ? 'hydroxide' : addition;

/**
 * pH (total scale) right after a dose is mixed in.
 *
 * @param rise  of the product's analyte by the dose, in its unit, as `largestRiseWithinPh` allows
 * @returns the pH before for what adds no alkalinity
 * @throws OutOfRange  for a dose past the range of the carbonate system
 */
export function phAfterDose(water: DoseWater, strength: Strength, rise: number): number {
  if (strength.addition === 'none') return water.phTotal;
  const before = beforeDose(water, judgedAs(strength.addition));
  const addedAlkalinity_umol_kg = umol_kgFromDkh(water, rise * strength.alkalinityPerRise);
  return effectOfDose({ ...before, addedAlkalinity_umol_kg }).endPhTotal;
}

/**
 * The largest single rise of the product's analyte that keeps pH at or below a limit.
 *
 * @returns at most `mostRise`; 0 when the water is past the limit already and the dose would raise it further
 */
export function largestRiseWithinPh(water: DoseWater, strength: Strength, highestPh: number, mostRise: number): number {
  const { addition, alkalinityPerRise } = strength;
  // Bicarbonate lowers the pH of sea water above about 7.6: it stays allowed where the pH is too high already.
  if (addition === 'none' || addition === 'bicarbonate') return mostRise;
  const perRise = umol_kgFromDkh(water, alkalinityPerRise);
  const limit = { highestPhTotal: highestPh, mostAddedAlkalinity_umol_kg: Math.min(5000, mostRise * perRise) };
  return largestAdditionBelowPh(beforeDose(water, judgedAs(addition)), limit) / perRise;
}
