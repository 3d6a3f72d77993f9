import { type MixedWater, mix } from '../mixing/mixed-water.ts';
import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { dipCautions, emergencyCaution } from './arrival-cautions.ts';

/** Least part of the dip bath that comes from the tank. @source common practice, no published source */
export const leastTankShare = 0.5;

/** Longest soak in a dip bath, minutes; no protocol may pass it. @source common practice, no published source */
export const mostSoakMinutes = 10;

/** How far the shares may miss 1: thirds and sixths typed with a few digits are not refused. */
const shareTolerance = 1e-3;

/** Reagents that take up more of the bath than this thin its salt noticeably (1 % of 35 is 0.35). */
const noticeableReagentShare = 0.01;

/** A reagent as its maker's label gives it, typed in by the keeper. */
export type ReagentDose = {
  /** What the keeper calls it. */
  name: string;
  /** mL for each litre of bath, 0 to 200. */
  dose_mL_L: number;
  /** Lowest and highest dose on the label, mL/L, 0 to 200; a dose outside it is told, not refused. */
  label?: { low_mL_L: number; high_mL_L: number };
};

export type BathWish = {
  /** Of one dip bath, 0.1 to 1000 L. */
  bathL: number;
  /** Part of it from the tank, 0.5 to 1. */
  tankShare: number;
  /** Part of it from the bags, 0 to 0.5; with `tankShare` 1. What the tank leaves, unless given. */
  bagShare?: number;
  reagents: readonly ReagentDose[];
  /** By the label, above 0 up to 10 minutes; the maximum unless given. */
  soakMinutes?: number;
  /** Of the rinse bath in fresh salt water, 0 to 1000 L; none unless given. */
  rinseL?: number;
};

export type DipBath = {
  tankL: number;
  bagL: number;
  /** Fresh salt water that goes into the tank for what the dip took from it. */
  replaceL: number;
  rinseL: number;
  /** Fresh salt water in all. */
  freshL: number;
  /** In the order given. */
  reagents: { name: string; volume_mL: number }[];
  soakMinutes: number;
  /** What is odd about this bath first, then what holds for every dip. */
  cautions: string[];
};

/**
 * Volumes of a dip bath, its rinse bath and the fresh salt water that both ask for.
 *
 * The dip water is thrown away, so that the tank gets as much fresh salt water as the bath took from it: level and salinity
 * stay when that water matches the tank.
 *
 * @throws OutOfRange  for shares that do not add to 1, less than half from the tank, a soak over the maximum, a reagent named
 *   twice, or a number outside the limits of BathWish and ReagentDose
 * @source conservation of volume; shares and soak: common practice, no published source
 */
export function dipBath(wish: BathWish): DipBath {
  const bathL = within('bath, L', wish.bathL, 0.1, 1000);
  const tankShare = within('tank share', wish.tankShare, 0, 1);
  const bagShare = within('bag share', wish.bagShare ?? 1 - tankShare, 0, 1);
  if (tankShare < leastTankShare) {
    throw new OutOfRange('tank share', tankShare, `${leastTankShare} to 1: at least half of a dip bath from the tank`);
  }
  if (Math.abs(tankShare + bagShare - 1) > shareTolerance) {
    throw new OutOfRange('tank share plus bag share', Number((tankShare + bagShare).toPrecision(6)), '1');
  }
  const soakMinutes = soakWithinMaximum(wish.soakMinutes ?? mostSoakMinutes);
  const rinseL = within('rinse bath, L', wish.rinseL ?? 0, 0, 1000);
  // The bag water is what is left, so that the two make the bath even when the shares miss 1 by a digit.
  const tankL = bathL * tankShare;
  const reagents = wish.reagents.map((reagent, index) => {
    if (wish.reagents.findIndex(({ name }) => name === reagent.name) !== index) {
      throw new OutOfRange(`doses of ${reagent.name}`, 2, '1 for each reagent');
    }
    return {
      name: reagent.name,
      volume_mL: bathL * within(`dose of ${reagent.name}, mL/L`, reagent.dose_mL_L, 0, 200),
    };
  });
  return {
    tankL,
    bagL: bathL - tankL,
    replaceL: tankL,
    rinseL,
    freshL: tankL + rinseL,
    reagents,
    soakMinutes,
    cautions: [...oddities(wish, reagents), ...dipCautions, emergencyCaution],
  };
}

/**
 * A soak that may be timed.
 *
 * @throws OutOfRange  for one of 0 or fewer minutes, or over `mostSoakMinutes`
 */
export function soakWithinMaximum(minutes: number): number {
  if (!(minutes > 0 && minutes <= mostSoakMinutes)) {
    throw new OutOfRange('soak, minutes', minutes, `above 0, at most ${mostSoakMinutes}`);
  }
  return minutes;
}

function oddities(wish: BathWish, reagents: readonly { name: string; volume_mL: number }[]): string[] {
  const found: string[] = [];
  for (const { name, dose_mL_L, label } of wish.reagents) {
    if (label === undefined) continue;
    const low = within(`label of ${name}, lowest mL/L`, label.low_mL_L, 0, 200);
    const high = within(`label of ${name}, highest mL/L`, label.high_mL_L, low, 200);
    if (dose_mL_L < low || dose_mL_L > high) {
      const side = dose_mL_L > high ? 'above' : 'below';
      found.push(
        `${name}: ${dose_mL_L} mL/L is ${side} the label's ${low} to ${high} mL/L. Check the label before pouring.`,
      );
    }
  }
  const poured = reagents.filter(({ volume_mL }) => volume_mL > 0);
  if (poured.length > 1) {
    const names = poured.map(({ name }) => name).join(', ');
    found.push(`${names} in one bath: only if each label allows the other; else one bath for each.`);
  }
  const share = poured.reduce((sum, { volume_mL }) => sum + volume_mL, 0) / 1000 / wish.bathL;
  if (share > noticeableReagentShare) {
    found.push(
      `The reagents add ${(100 * share).toFixed(1)} % to the bath and may dilute its salt: measure its salinity before the corals go in.`,
    );
  }
  if (wish.soakMinutes === undefined) {
    found.push(`${mostSoakMinutes} minutes is the most, not the aim: take the label's time where it is shorter.`);
  }
  return found;
}

/**
 * The water of a dip bath before its reagents: compare it with the bags and the tank, so that a shock is told before the
 * corals go in.
 *
 * @throws OutOfRange  for a metric that is not finite
 */
export function bathWater(tank: MixedWater, bag: MixedWater, bath: Pick<DipBath, 'tankL' | 'bagL'>): MixedWater {
  return mix(tank, bath.tankL, bag, bath.bagL);
}
