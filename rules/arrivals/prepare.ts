import { type SaltStrength, saltForBatch } from '../mixing/salt-strength.ts';
import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { leastTankShare } from './bath.ts';
import { hoursToWarm } from './heating.ts';

/** Pieces of one size: their longest side with the plug. */
export type PiecesOfSize = { count: number; longest_cm: number };

/** Water around a piece on each side, cm. @source common practice, no published source */
const marginAround_cm = 1;
/** Smallest bath that holds its temperature and can be stirred, L. @source common practice, no published source */
const leastBathL = 2;
/** Made beyond need, for spills and a rinse that must be changed. @source common practice, no published source */
const spareShare = 0.1;
/** Time for a salt to dissolve and settle, hours, unless its maker says otherwise. @source common practice, no published source */
export const mixingHours = 24;

export type ArrivalWish = {
  pieces: readonly PiecesOfSize[];
  /** Largest vessel for a dip bath, 2 to 1000 L: more pieces make more baths. */
  vesselL: number;
  /** Water that came in the bags, L; without it the bags are taken to hold enough. */
  bagWaterL?: number;
  /** Part of a bath wanted from the tank, 0.5 to 1; more when the bags hold too little. Half unless given. */
  tankShare?: number;
  /** Salinity of the tank, which the new water gets, 20 to 45. */
  salinity: number;
  strength: Pick<SaltStrength, 'gramsPerLitreAt35' | 'sd_g_L'>;
  /** By the salt's maker, 0.1 to 72 h. */
  mixingHours?: number;
  /** °C of the water at hand and of the tank, 0 to 35, and the heater; left out when the water need not be warmed. */
  warm?: { from_C: number; to_C: number; heater_W: number; room_C?: number; loss_W_K?: number };
};

export type ArrivalWater = {
  /** One after the other or side by side, each with reagent of its own. */
  baths: number;
  bathL: number;
  tankShare: number;
  bagShare: number;
  /** Of all baths together. */
  tankL: number;
  bagL: number;
  /** Fresh salt water: for what the dips take, for a rinse bath to each dip bath, spare, and in all. */
  replaceL: number;
  rinseL: number;
  spareL: number;
  freshL: number;
  salt_g: number;
  /** Standard uncertainty of the salinity that this salt will give. */
  salinitySd: number;
  mixHours: number;
  /** Absent without `warm`, and when the heater is too weak. */
  warmHours?: number;
  /** Start so long before the corals come: mixing and warming run together. */
  leadHours: number;
  warnings: string[];
};

/**
 * Water to have ready before new corals come.
 *
 * A piece needs a cube of its longest side and a centimetre of water around.
 *
 * @param wish.pieces  each count a whole number from 1 to 10,000, longest side 0.5 to 60 cm
 * @throws OutOfRange  outside these limits and those of ArrivalWish, and for a piece that no bath holds
 * @source conservation of volume and salt; margins common practice, no published source
 */
export function waterForArrival(wish: ArrivalWish): ArrivalWater {
  const vesselL = within('vessel, L', wish.vesselL, leastBathL, 1000);
  const neededL = wish.pieces.reduce((sum, size) => sum + litresAround(size, vesselL), 0);
  if (!(neededL > 0)) throw new OutOfRange('pieces', 0, '1 or more');
  const baths = Math.max(1, Math.ceil(neededL / vesselL - 1e-9));
  const largestL = Math.max(...wish.pieces.map(({ longest_cm }) => litresAround({ count: 1, longest_cm }, vesselL)));
  const bathL = Math.min(vesselL, Math.max(leastBathL, largestL, neededL / baths));
  const warnings: string[] = [];
  const { tankShare, isRaised } = sharesFor(wish, baths * bathL);
  if (isRaised) warnings.push('The bags hold too little water for their share: the tank gives the rest.');
  const tankL = baths * bathL * tankShare;
  const rinseL = baths * bathL;
  const spareL = spareShare * (tankL + rinseL);
  const freshL = tankL + rinseL + spareL;
  const { salt_g, salinitySd } = saltForBatch(
    freshL,
    within('salinity of the tank', wish.salinity, 20, 45),
    wish.strength,
  );
  const mixHours = within('hours to mix', wish.mixingHours ?? mixingHours, 0.1, 72);
  const warmHours = wish.warm === undefined ? 0 : hoursToWarm({ volumeL: freshL, ...wish.warm });
  if (warmHours === undefined) warnings.push('The heater is too weak to reach the tank’s temperature in this room.');
  if (salinitySd > 0.5) warnings.push('This salt’s strength is poorly known: start with less, measure, then add.');
  return {
    baths,
    bathL,
    tankShare,
    bagShare: 1 - tankShare,
    tankL,
    bagL: baths * bathL - tankL,
    replaceL: tankL,
    rinseL,
    spareL,
    freshL,
    salt_g,
    salinitySd,
    mixHours,
    ...(wish.warm === undefined || warmHours === undefined ? {} : { warmHours }),
    leadHours: Math.max(mixHours, warmHours ?? 0),
    warnings,
  };
}

function litresAround({ count, longest_cm }: PiecesOfSize, vesselL: number): number {
  if (!Number.isInteger(count)) throw new OutOfRange('pieces of one size', count, 'a whole number');
  within('pieces of one size', count, 1, 10_000);
  const side_cm = within('longest side of a piece, cm', longest_cm, 0.5, 60) + 2 * marginAround_cm;
  const litres = side_cm ** 3 / 1000;
  if (litres > vesselL) {
    throw new OutOfRange(
      `litres around a piece of ${longest_cm} cm`,
      Number(litres.toPrecision(3)),
      `the vessel's ${vesselL}`,
    );
  }
  return count * litres;
}

function sharesFor(wish: ArrivalWish, totalL: number): { tankShare: number; isRaised: boolean } {
  const wanted = within('tank share', wish.tankShare ?? leastTankShare, leastTankShare, 1);
  if (wish.bagWaterL === undefined) return { tankShare: wanted, isRaised: false };
  const held = within('water in the bags, L', wish.bagWaterL, 0, 1e4) / totalL;
  return held < 1 - wanted ? { tankShare: 1 - held, isRaised: true } : { tankShare: wanted, isRaised: false };
}
