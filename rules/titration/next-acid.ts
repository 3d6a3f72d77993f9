import { usualDicOverAlkalinity } from './alkalinity-fit.ts';
import { acidToPh, alkalinityFromAcidToPh, type EndPointTitration } from './fixed-end-point.ts';

/**
 * Where the sample waits for its CO2 to leave, free pH. SOP 3b goes to between 3.5 and 4.0 (from memory); a little above,
 * since there pH still tells of the CO2.
 */
const hold_ph = 4.05;
/** Below it the portions get small and pH alone tells where the sample is. */
export const smallPortionsFrom_ph = 4.4;
/** The last pH that carries the answer. @source Dickson, Sabine & Christian 2007, SOP 3b: 3.0 to 3.5 */
export const bottom_ph = 3.0;
/** How far off a meter may read. Common practice, no published source */
const meterOff_ph = 0.2;
/** Of what is still open about the alkalinity, how much the next portion counts on. Chosen here: the acid cannot be taken back. */
const boldness = 0.25;
/** Points between the hold and pH 3, and the steps that they may make. Chosen here: more of them shrink the interval hardly. */
const smallPortions = 11;
const smallStep_ph = { low: 0.05, high: 0.1 };

/** An alkalinity that is known only so far, µmol/kg. */
export type ExpectedAlkalinity = { value: number; sd: number };

type Beaker = Pick<EndPointTitration, 'chemistry' | 'sample_g' | 'acid_mol_kg'>;

/**
 * The next large portion on the way to pH 4: as far as the smaller one of the alkalinities reaches that the tank and the pH
 * allow, and a little further. CO2 may have left or not, so pH gives two bounds and not one value.
 *
 * @param acid_g  added so far
 * @param ph      as read; undefined before the first portion
 * @returns g of acid, above 0
 */
export function nextLargePortion_g(
  beaker: Beaker,
  expected: ExpectedAlkalinity,
  acid_g: number,
  ph: number | undefined,
): number {
  const bounds = { low: expected.value - 2 * expected.sd, high: expected.value + 2 * expected.sd };
  if (ph !== undefined && acid_g > 0) {
    const dic_umol_kg = usualDicOverAlkalinity * bounds.high;
    const byPh = {
      low: alkalinityAt(beaker, acid_g, ph + meterOff_ph, 0),
      high: alkalinityAt(beaker, acid_g, ph + meterOff_ph, dic_umol_kg),
    };
    const agreed = { low: Math.max(bounds.low, byPh.low), high: Math.min(bounds.high, byPh.high) };
    // Where they do not overlap the tank's value is the older one.
    Object.assign(bounds, agreed.low <= agreed.high ? agreed : byPh);
  }
  const reach_umol_kg = Math.max(0, bounds.low + boldness * (bounds.high - bounds.low));
  return Math.max(acidToPh(withCarbon(beaker, 0), reach_umol_kg, hold_ph) - acid_g, 0);
}

/**
 * The next small portion, once the CO2 is gone: as much as moves pH by one step of the way down to pH 3.
 *
 * @param ph      as read now
 * @param heldAt_ph  where the small portions began
 * @returns g of acid, above 0
 */
export function nextSmallPortion_g(beaker: Beaker, acid_g: number, ph: number, heldAt_ph: number): number {
  const step_ph = Math.min(smallStep_ph.high, Math.max(smallStep_ph.low, (heldAt_ph - bottom_ph) / smallPortions));
  const now_umol_kg = Math.max(0, alkalinityAt(beaker, acid_g, ph, 0));
  return acidToPh(withCarbon(beaker, 0), now_umol_kg, within(ph - step_ph)) - acid_g;
}

/**
 * An amount as a person can read it: to the step of the scale, one step at least.
 *
 * @param step  of the scale, above 0, in the unit of the amount
 */
export function toScale(amount: number, step: number): number {
  return Number((Math.max(1, Math.round(amount / step)) * step).toPrecision(12));
}

function alkalinityAt(beaker: Beaker, acid_g: number, ph: number, dic_umol_kg: number): number {
  return alkalinityFromAcidToPh(withCarbon(beaker, dic_umol_kg), acid_g, within(ph));
}

/** What the balance is asked for; a probe that shows more or less than any beaker is warned of elsewhere. */
function within(ph: number): number {
  return Math.min(9.5, Math.max(2.6, ph));
}

function withCarbon(beaker: Beaker, dic_umol_kg: number): EndPointTitration {
  return { ...beaker, carbon: { kind: 'closed', dic_umol_kg: Math.min(20_000, Math.max(0, dic_umol_kg)) } };
}
