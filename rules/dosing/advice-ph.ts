import { defined } from '../plain-data/defined.ts';
import { meqPerLFromDkh } from '../quantity/alkalinity-unit.ts';
import { umolPerKgFromMmolPerL } from '../quantity/amount.ts';
import { densityFromSalinityEos80 } from '../seawater/density.ts';
import { convertPh, type PhScale } from '../seawater/ph-scale.ts';
import { dayMs } from './advice-facts.ts';
import type { Strength } from './advice-product.ts';
import type { AdviceInput, KnownFact } from './advice-types.ts';
import { type AlkalineAddition, effectOfDose, largestAdditionWithin } from './effect-of-dose.ts';
import { phAfterHours, shareLeftOfDay } from './ph-forecast.ts';

/** The water in which a dose lands, with what had to be assumed. */
export type DoseWater = {
  salinity: number;
  temperature_C: number;
  alkalinity_dKH: number;
  /** Total scale, the highest of the last day where it is known. */
  phTotal: number;
  /** Absent: as natural seawater of this salinity has it. */
  calcium_mg_L?: number;
  /** The keeper's limit, on the total scale, and as the meter shows it. */
  highestPhTotal: number;
  meterScale: PhScale;
  /** A fresh, sound pH is above the limit. */
  isPhPastLimit: boolean;
  /** As `AdviceInput` has it. */
  gasTransfer?: NonNullable<AdviceInput['system']['gasTransfer']>;
  assumed: string[];
};

/**
 * What stands in for a fact that is missing, suspect, too old (days) or out of any reef's range. A room without a pH probe is
 * judged with a usual evening's pH; a probe that was there and cannot be trusted is taken at the high end of what reef tanks show,
 * for why it fell silent is not known. @source common practice, no published source
 */
const fallbacks = {
  salinity: { name: 'salinity', value: 35, mostDays: 14, low: 25, high: 42 },
  temperature_C: { name: 'temperature', value: 25, mostDays: 2, low: 15, high: 33 },
};
/** pH on the total scale of a reef in the evening; 8.35 is the high end of what reef tanks show. Common practice, no published source */
const usualPh = { total: 8.2, cautiousTotal: 8.35, mostDays: 1, low: 7, high: 9 };

/** Most that one dose may lift the pH. @source common practice, no published source */
const mostPhRiseOfDose = 0.1;
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

/** What is known of the water now, and a cautious guess for the rest. */
export function doseWater(input: AdviceInput, alkalinity_dKH: number): DoseWater {
  const assumed: string[] = [];
  const known = (fact: KnownFact | undefined, fallback: (typeof fallbacks)[keyof typeof fallbacks]): number => {
    const isUsable = fact !== undefined && fact.isSuspect !== true && fact.ageMs <= fallback.mostDays * dayMs;
    if (isUsable && fact.value >= fallback.low && fact.value <= fallback.high) return fact.value;
    assumed.push(`${fallback.name} ${fallback.value}${fallback === fallbacks.temperature_C ? ' °C' : ''}`);
    return fallback.value;
  };
  const salinity = known(input.water.salinity, fallbacks.salinity);
  const temperature_C = known(input.water.temperature_C, fallbacks.temperature_C);
  const limit = input.system.highestPhAfterDose;
  const at = { salinity, temperature_C };
  const ph = knownPhTotal(input, at);
  if (!ph.isMeasured) {
    const shown = convertPh(ph.phTotal, 'total', limit.scale, at).toFixed(2);
    assumed.push(
      input.water.ph === undefined ? `pH ${shown}, no probe` : `pH ${shown}, the probe is stale or in doubt`,
    );
  }
  const highestPhTotal = convertPh(limit.value, limit.scale, 'total', at);
  const calcium = input.water.calcium_mg_L?.value;
  return {
    salinity,
    temperature_C,
    assumed,
    highestPhTotal,
    meterScale: limit.scale,
    phTotal: ph.phTotal,
    alkalinity_dKH: Math.min(25, Math.max(1, alkalinity_dKH)),
    ...(calcium !== undefined && calcium >= 200 && calcium <= 700 ? { calcium_mg_L: calcium } : {}),
    isPhPastLimit: ph.isMeasured && ph.phTotal > highestPhTotal,
    ...defined({ gasTransfer: input.system.gasTransfer }),
  };
}

function knownPhTotal(
  { water: { ph } }: AdviceInput,
  at: { salinity: number; temperature_C: number },
): { phTotal: number; isMeasured: boolean } {
  if (ph === undefined) return { phTotal: usualPh.total, isMeasured: false };
  const isFresh = ph.isSuspect !== true && ph.ageMs <= usualPh.mostDays * dayMs;
  const isSound = ph.value >= usualPh.low && ph.value <= usualPh.high;
  if (!isFresh || !isSound) return { phTotal: usualPh.cautiousTotal, isMeasured: false };
  const highest = Math.min(usualPh.high, Math.max(ph.value, ph.highestOfDay ?? ph.value));
  return { phTotal: convertPh(highest, ph.scale, 'total', at), isMeasured: true };
}

/** A pH of the total scale as the keeper's meter shows it. */
export function asOnMeter(water: DoseWater, phTotal: number): number {
  return convertPh(phTotal, 'total', water.meterScale, water);
}

function umol_kgFromDkh(water: DoseWater, alkalinity_dKH: number): number {
  const density_kg_L = densityFromSalinityEos80(water.salinity, water.temperature_C) / 1000;
  return umolPerKgFromMmolPerL(meqPerLFromDkh(alkalinity_dKH), density_kg_L);
}

function beforeDose(water: DoseWater, addition: AlkalineAddition) {
  const { salinity, temperature_C, calcium_mg_L } = water;
  return {
    salinity,
    temperature_C,
    addition,
    startPhTotal: water.phTotal,
    ...defined({ calcium_mg_L }),
    startTotalAlkalinity_umol_kg: umol_kgFromDkh(water, water.alkalinity_dKH),
  };
}

/** A solution of unknown make-up is judged as hydroxide, which lifts pH the most. */
const judgedAs = (addition: Exclude<Strength['addition'], 'none'>): AlkalineAddition =>
  addition === 'unknown' ? 'hydroxide' : addition;

/**
 * pH (total scale) right after a dose is mixed in.
 *
 * @param rise  of the product's analyte by the dose, in its unit, as `doseLimits` allows
 * @returns the pH before for what adds no alkalinity
 * @throws OutOfRange  for a dose past the range of the carbonate system
 */
export function phAfterDose(water: DoseWater, strength: Strength, rise: number): number {
  if (strength.addition === 'none') return water.phTotal;
  const before = beforeDose(water, judgedAs(strength.addition));
  const addedAlkalinity_umol_kg = umol_kgFromDkh(water, rise * strength.alkalinityPerRise);
  return effectOfDose({ ...before, addedAlkalinity_umol_kg }).endPhTotal;
}

/** What the carbonate system lets a product do in this water, as rises of the product's analyte in its unit. */
export type DoseLimits = {
  /** Largest rise by one dose, and which limit set it. */
  largestRise: number;
  setBy: 'nothing' | 'ph' | 'saturation';
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
  const before = beforeDose(water, judgedAs(addition));
  const perRise = umol_kgFromDkh(water, alkalinityPerRise);
  const most = (rise: number): number => Math.min(5000, rise * perRise);
  // Bicarbonate lowers the pH of sea water above about 7.6: it stays allowed where the pH is too high already.
  const highestPhTotal = addition === 'bicarbonate' ? 9.5 : water.highestPhTotal;
  const upTo = (rise: number, limits: { mostPhRise: number; highestOmegaAragonite: number }): number =>
    largestAdditionWithin(before, { ...limits, highestPhTotal, mostAddedAlkalinity_umol_kg: most(rise) }) / perRise;
  const byBoth = upTo(mostRise, { mostPhRise: mostPhRiseOfDose, highestOmegaAragonite });
  const byPhAlone = upTo(mostRise, { mostPhRise: mostPhRiseOfDose, highestOmegaAragonite: 100 });
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
    ...beforeDose(water, judgedAs(strength.addition)),
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
