import { defined } from '../plain-data/defined.ts';
import { OutOfRange } from '../quantity/out-of-range.ts';
import { carbonateRange } from '../seawater/carbonate-system.ts';
import { convertPh } from '../seawater/ph-scale.ts';
import { type DoseLimits, highestOmegaAragonite, mostPhChangeOfDose } from './advice-ph.ts';
import type { Strength } from './advice-product.ts';
import type { NightPh } from './advice-types.ts';
import { beforeDose, type DoseWater, effluentOf, umol_kgFromDkh, usualEffluentPh } from './advice-water.ts';
import { effluentCarbon_mol_eq } from './calcium-reactor.ts';
import { type AlkalineAddition, largestAdditionWithin } from './effect-of-dose.ts';
import { type FlowWater, largestFlowAbovePh, settledPhOfFlow } from './reactor-ph.ts';

/** Below this borate and hydroxide leave no carbon at the highest pH of a reef, dKH. Chosen here. */
const leastTank_dKH = 3;

/** A product's strength with the carbon dioxide that it brings along, where it is a reactor's effluent. */
export function withCarbon(water: DoseWater, strength: Strength): Strength {
  const effluent = effluentOf(strength.product.made);
  if (effluent === undefined) return strength;
  const carbon_mol_eq = effluentCarbon_mol_eq({
    salinity: water.salinity,
    temperature_C: water.temperature_C,
    // Within what the carbonate system knows, whatever the file says.
    tankAlkalinity_dKH: Math.max(leastTank_dKH, effluent.tankAlkalinity_dKH),
    tankPhTotal: water.phTotal,
    effluentAlkalinity_dKH: effluent.alkalinity_dKH,
    effluentPhTotal: Math.max(
      carbonateRange.phTotal[0],
      convertPh(effluent.phNbs ?? usualEffluentPh, 'nbs', 'total', water),
    ),
  });
  return { ...strength, ...defined({ carbon_mol_eq }) };
}

/** The water of the night, by which what brings carbon dioxide is judged. */
function flowWater(water: DoseWater, carbon_mol_eq: number, coefficient_per_h?: number): FlowWater {
  const { salinity, temperature_C, night } = water;
  const totalAlkalinity_umol_kg = umol_kgFromDkh(water, water.alkalinity_dKH);
  const { phTotal } = night;
  return {
    salinity,
    temperature_C,
    totalAlkalinity_umol_kg,
    phTotal,
    carbon_mol_eq,
    ...defined({ coefficient_per_h }),
  };
}

/**
 * Lowest pH (total scale) of the day with more flow of a reactor, once that has settled.
 *
 * @param extraPerDay  of the product's analyte on top of what it gives now, 0 or more
 * @returns undefined for what is no reactor, or where the carbonate system says nothing of such water
 */
export function nightPhWith(water: DoseWater, strength: Strength, extraPerDay: number): NightPh | undefined {
  const { carbon_mol_eq } = strength;
  if (carbon_mol_eq === undefined) return undefined;
  const extra = umol_kgFromDkh(water, extraPerDay * strength.alkalinityPerRise);
  const at = (coefficient?: number): number => settledPhOfFlow(flowWater(water, carbon_mol_eq, coefficient), extra);
  const { gasTransfer } = water;
  const before = water.night.phTotal;
  return unlessOutOfRange<NightPh | undefined>(undefined, () => {
    if (gasTransfer === undefined) return { before, after: at() };
    const { coefficient_per_h, low95, high95 } = gasTransfer;
    return { before, after: at(coefficient_per_h), low95: at(low95), high95: at(high95) };
  });
}

/**
 * A reactor lowers pH, so the lowest of the day counts. It drips: a dose is what falls in while it mixes. The limit of a day is that of a
 * flow which goes on, by the slow end of the gas exchange; where a slow one is assumed and a faster one found, but not well, the slow one counts.
 */
export function flowLimits(water: DoseWater, strength: Strength, carbon_mol_eq: number, mostRise: number): DoseLimits {
  const { gasTransfer, night } = water;
  const perRise = umol_kgFromDkh(water, strength.alkalinityPerRise);
  // What cannot be judged is not dosed.
  const ofDay = (coefficient?: number): number =>
    unlessOutOfRange(0, () => largestFlowAbovePh(flowWater(water, carbon_mol_eq, coefficient), night.leastPhTotal)) /
    perRise;
  const extra =
    gasTransfer?.isWellKnown === true
      ? ofDay(gasTransfer.low95)
      : Math.min(ofDay(), gasTransfer === undefined ? Number.POSITIVE_INFINITY : ofDay(gasTransfer.coefficient_per_h));
  const atOnce =
    largestAdditionWithin(beforeDose(water, strength.addition as AlkalineAddition, carbon_mol_eq), {
      ...{ highestPhTotal: 9.5, mostPhRise: 9, highestOmegaAragonite },
      leastPhTotal: Math.max(night.leastPhTotal, night.phTotal - mostPhChangeOfDose),
      mostAddedAlkalinity_umol_kg: Math.min(5000, mostRise * perRise),
    }) / perRise;
  const largestRise = extra > 0 ? atOnce : 0;
  return {
    largestRise,
    setBy: largestRise >= mostRise * (1 - 1e-9) && extra === Number.POSITIVE_INFINITY ? 'nothing' : 'low_ph',
    largestExtraOfDay: extra,
  };
}

function unlessOutOfRange<Of>(instead: Of, of: () => Of): Of {
  try {
    return of();
  } catch (error) {
    if (error instanceof OutOfRange) return instead;
    throw error;
  }
}
