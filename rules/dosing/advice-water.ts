import { dayMs } from '../clock/durations.ts';
import { defined } from '../plain-data/defined.ts';
import { meqPerLFromDkh } from '../quantity/alkalinity-unit.ts';
import { umolPerKgFromMmolPerL } from '../quantity/amount.ts';
import { densityFromSalinityEos80 } from '../seawater/density.ts';
import { convertPh, type PhScale } from '../seawater/ph-scale.ts';
import type { Strength } from './advice-product.ts';
import type { AdviceInput, AdviceProduct, KnownFact } from './advice-types.ts';
import type { AlkalineAddition } from './effect-of-dose.ts';
import { soundSalinity } from './water-facts.ts';

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
  /** Lowest pH of the last day, and below which it should not go; total scale. */
  night: { phTotal: number; leastPhTotal: number };
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
  salinity: { name: 'salinity', value: 35, mostDays: 14, ...soundSalinity },
  temperature_C: { name: 'temperature', value: 25, mostDays: 2, low: 15, high: 33 },
};
/** pH on the total scale of a reef in the evening; 8.35 is the high end of what reef tanks show. Common practice, no published source */
const usualPh = { total: 8.2, cautiousTotal: 8.35, nightTotal: 7.9, mostDays: 1, low: 7, high: 9 };
/** Below this no carbon dioxide is added where the keeper has set no band of pH, as a meter in usual buffers shows it. Common practice, no published source */
const usualLeastPh = 7.8;

/** Of a reactor's effluent that nobody measured, in usual buffers; most media dissolve at 6.3 to 6.8. Common practice, no published source */
export const usualEffluentPh = 6.5;

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
  if (
    input.stocks.some(
      ({ product: { made } }) => effluentOf(made) !== undefined && effluentOf(made)?.phNbs === undefined,
    )
  )
    assumed.push(`pH ${usualEffluentPh} of the effluent`);
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
    night: { phTotal: ph.lowestPhTotal, leastPhTotal: leastPhTotal(input, at) },
    ...defined({ gasTransfer: input.system.gasTransfer }),
  };
}

function knownPhTotal(
  { water: { ph } }: AdviceInput,
  at: { salinity: number; temperature_C: number },
): { phTotal: number; lowestPhTotal: number; isMeasured: boolean } {
  const lowestPhTotal = usualPh.nightTotal;
  if (ph === undefined) return { phTotal: usualPh.total, lowestPhTotal, isMeasured: false };
  const isFresh = ph.isSuspect !== true && ph.ageMs <= usualPh.mostDays * dayMs;
  const isSound = ph.value >= usualPh.low && ph.value <= usualPh.high;
  if (!isFresh || !isSound) return { phTotal: usualPh.cautiousTotal, lowestPhTotal, isMeasured: false };
  const highest = Math.min(usualPh.high, Math.max(ph.value, ph.highestOfDay ?? ph.value));
  const total = (value: number): number => convertPh(value, ph.scale, 'total', at);
  // A pH that was read once says nothing of the night.
  const lowest = ph.lowestOfDay === undefined ? Math.min(total(ph.value), lowestPhTotal) : total(ph.lowestOfDay);
  return { phTotal: total(highest), lowestPhTotal: lowest, isMeasured: true };
}

function leastPhTotal({ system }: AdviceInput, at: { salinity: number; temperature_C: number }): number {
  const low = system.otherBands.ph?.low;
  return low === undefined
    ? convertPh(usualLeastPh, 'nbs', 'total', at)
    : convertPh(low, system.highestPhAfterDose.scale, 'total', at);
}

/** Of what a reactor drips; undefined for all else. */
export const effluentOf = (made: AdviceProduct['made']) => (made.of === 'own_strength' ? made.effluent : undefined);

/** A pH of the total scale as the keeper's meter shows it. */
export function asOnMeter(water: DoseWater, phTotal: number): number {
  return convertPh(phTotal, 'total', water.meterScale, water);
}

/** Alkalinity of the store's unit in each kg of this water, µmol. */
export function umol_kgFromDkh(water: DoseWater, alkalinity_dKH: number): number {
  const density_kg_L = densityFromSalinityEos80(water.salinity, water.temperature_C) / 1000;
  return umolPerKgFromMmolPerL(meqPerLFromDkh(alkalinity_dKH), density_kg_L);
}

/** What brings carbon dioxide meets the pH of the night, all else the highest of the day. */
export function beforeDose(water: DoseWater, addition: Exclude<Strength['addition'], 'none'>, carbon_mol_eq?: number) {
  const { salinity, temperature_C, calcium_mg_L } = water;
  return {
    salinity,
    temperature_C,
    addition: judgedAs(addition),
    startPhTotal: carbon_mol_eq === undefined ? water.phTotal : water.night.phTotal,
    ...defined({ calcium_mg_L, carbon_mol_eq }),
    startTotalAlkalinity_umol_kg: umol_kgFromDkh(water, water.alkalinity_dKH),
  };
}

/** A solution of unknown make-up is judged as hydroxide, which lifts pH the most. */
const judgedAs = (addition: Exclude<Strength['addition'], 'none'>): AlkalineAddition =>
  addition === 'unknown' ? 'hydroxide' : addition;
