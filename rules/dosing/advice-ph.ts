import type { Strength } from './advice-product.ts';
import { beforeDose, type DoseWater, umol_kgFromDkh } from './advice-water.ts';
import { effectOfDose, largestAdditionWithin } from './effect-of-dose.ts';
import { phAfterHours, shareLeftOfDay } from './ph-forecast.ts';

/** Most that one dose may move the pH. @source common practice, no published source */
export const mostPhChangeOfDose = 0.1;
/** Saturation of aragonite above which it precipitates on whatever is there. @source Moras et al. 2022, Biogeosciences 19, 3537 */
export const highestOmegaAragonite = 7;
/**
 * Share of what a day's extra base does to the pH at once that is left at its end, when the air of the room has given CO2 back all
 * along: a pH that relaxes within about a day, which is slow for a tank with a skimmer. @source common practice, no published source
 */
const usualLeftOfDay = 0.63;
/** However fast the gas exchange is found, no less than this counts as left. Chosen here: a skimmer stops now and then. */
const leastLeftOfDay = 0.4;
/** The dose by which that share is reckoned, µmol/kg: small beside any tank's alkalinity. */
const probeDose_umol_kg = 50;

/**
 * pH (total scale) right after a dose is mixed in.
 *
 * @param rise  of the product's analyte by the dose, in its unit, as `doseLimits` allows
 * @returns the pH before for what adds no alkalinity
 * @throws OutOfRange  for a dose past the range of the carbonate system
 */
export function phAfterDose(water: DoseWater, strength: Strength, rise: number): number {
  if (strength.addition === 'none') return water.phTotal;
  const before = beforeDose(water, strength.addition, strength.carbon_mol_eq);
  const addedAlkalinity_umol_kg = umol_kgFromDkh(water, rise * strength.alkalinityPerRise);
  return effectOfDose({ ...before, addedAlkalinity_umol_kg }).endPhTotal;
}

/** What the carbonate system lets a product do in this water, as rises of the product's analyte in its unit. */
export type DoseLimits = {
  /** Largest rise by one dose, and which limit set it. */
  largestRise: number;
  setBy: 'nothing' | 'ph' | 'low_ph' | 'saturation';
  /** Largest rise of a day beyond what runs now, the day's doses and the room's air taken together. */
  largestExtraOfDay: number;
};

/**
 * @param mostRise  largest rise of interest, unit
 */
export function doseLimits(water: DoseWater, strength: Strength, mostRise: number): DoseLimits {
  const { addition, alkalinityPerRise } = strength;
  if (addition === 'none' || alkalinityPerRise <= 0) {
    return { largestRise: mostRise, setBy: 'nothing', largestExtraOfDay: Number.POSITIVE_INFINITY };
  }
  const before = beforeDose(water, addition);
  const perRise = umol_kgFromDkh(water, alkalinityPerRise);
  const most = (rise: number): number => Math.min(5000, rise * perRise);
  // Bicarbonate lowers the pH of sea water above about 7.6: it stays allowed where the pH is too high already.
  const highestPhTotal = addition === 'bicarbonate' ? 9.5 : water.highestPhTotal;
  const upTo = (rise: number, limits: { mostPhRise: number; highestOmegaAragonite: number }): number =>
    largestAdditionWithin(before, { ...limits, highestPhTotal, mostAddedAlkalinity_umol_kg: most(rise) }) / perRise;
  const byBoth = upTo(mostRise, { mostPhRise: mostPhChangeOfDose, highestOmegaAragonite });
  const byPhAlone = upTo(mostRise, { mostPhRise: mostPhChangeOfDose, highestOmegaAragonite: 100 });
  const mostOfDay = 4 * mostRise;
  const ofDay = upTo(mostOfDay, { mostPhRise: 9, highestOmegaAragonite }) / leftOfDay(water);
  const setBy = byBoth >= mostRise * (1 - 1e-9) ? 'nothing' : byPhAlone > byBoth * (1 + 1e-9) ? 'saturation' : 'ph';
  return { largestRise: byBoth, setBy, largestExtraOfDay: ofDay };
}

/**
 * How the limits of a day hang on the gas exchange. The limit of a single dose never does: it is the pH at once, before any gas moves.
 * Over a day the air takes part of a rise back. How much is assumed (`usualLeftOfDay`) until this tank's exchange is well known; then the
 * slow end of its interval counts, never below `leastLeftOfDay`. What is less well known can make the limit tighter, by its likely
 * value, and never looser.
 */
function leftOfDay(water: DoseWater): number {
  const { gasTransfer } = water;
  if (gasTransfer === undefined) return usualLeftOfDay;
  const left = (coefficient_per_h: number): number =>
    shareLeftOfDay({
      ...beforeDose(water, 'hydroxide'),
      addition: 'hydroxide',
      addedAlkalinity_umol_kg: probeDose_umol_kg,
      coefficient_per_h,
    });
  return gasTransfer.isWellKnown
    ? Math.max(leastLeftOfDay, left(gasTransfer.low95))
    : Math.max(usualLeftOfDay, left(gasTransfer.coefficient_per_h));
}

/** pH (total scale) some hours after a dose, by the gas exchange of this tank and by the ends of its interval. */
export type PhForecast = { hours: number; likely: number; low95: number; high95: number };

/**
 * What the pH will be after a dose, beside the pH of the same hour without it: a forecast, where `phAfterDose` is the limit that what
 * lifts pH stays below. Bicarbonate lowers it a little at once, and lifts it as its CO2 leaves.
 *
 * @param hours  after the dose, 0 to 240
 * @returns undefined while the gas exchange is not known, or for what adds no alkalinity
 * @throws OutOfRange  for a dose past the range of the carbonate system
 */
export function phForecast(water: DoseWater, strength: Strength, rise: number, hours: number): PhForecast | undefined {
  const { gasTransfer } = water;
  if (gasTransfer === undefined || strength.addition === 'none') return undefined;
  const dose = {
    ...beforeDose(water, strength.addition, strength.carbon_mol_eq),
    addedAlkalinity_umol_kg: umol_kgFromDkh(water, rise * strength.alkalinityPerRise),
    overHours: 0,
  };
  const at = (coefficient_per_h: number): number => phAfterHours({ ...dose, coefficient_per_h }, hours);
  const ends = [at(gasTransfer.low95), at(gasTransfer.high95)];
  return {
    hours,
    likely: at(gasTransfer.coefficient_per_h),
    low95: Math.min(...ends),
    high95: Math.max(...ends),
  };
}
