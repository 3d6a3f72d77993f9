import type { DemandEstimate } from '../trend/demand-filter.ts';
import { shown, withUnit } from './advice-facts.ts';
import type { AdviceInput } from './advice-types.ts';
import { calciumPerAlkalinity_mg_L_per_dKH } from './stoichiometry.ts';
import { lowMagnesium_mg_L } from './water-facts.ts';

/** Demands compared only when each rests on so many tests. */
const testsToCompare = 4;
/**
 * Alkalinity also leaves by nitrification and comes back by denitrification, so the two demands agree only roughly: this
 * share of the expected calcium demand is let pass. @source common practice, no published source
 */
const looseShare = 0.35;
/** A product is taken as not arriving when the demand looks too large by what it should give, within this share. */
const missedShare = 0.35;

type Pair = Record<'alkalinity' | 'calcium', DemandEstimate>;

/**
 * Alkalinity and calcium used out of step with calcification, in words with the likely culprit; undefined while they agree
 * within their uncertainty, or are not both known.
 */
export function outOfStep(input: AdviceInput, estimate: DemandEstimate): string | undefined {
  if (input.analyte !== 'alkalinity' && input.analyte !== 'calcium') return undefined;
  const other = input.otherEstimates?.[input.analyte === 'alkalinity' ? 'calcium' : 'alkalinity'];
  if (other === undefined || estimate.testsUsed < testsToCompare || other.testsUsed < testsToCompare) return undefined;
  const pair: Pair =
    input.analyte === 'alkalinity'
      ? { alkalinity: estimate, calcium: other }
      : { alkalinity: other, calcium: estimate };
  const { alkalinity, calcium } = pair;
  const { units } = input;
  const perDkh = calciumPerAlkalinity_mg_L_per_dKH;
  const expected = perDkh * alkalinity.demandPerDay;
  const sd = Math.hypot(calcium.demandSd, perDkh * alkalinity.demandSd);
  if (Math.abs(calcium.demandPerDay - expected) <= 2.5 * sd + looseShare * Math.abs(expected)) return undefined;
  return (
    `Calcium falls by ${withUnit('calcium', calcium.demandPerDay, units)} a day where ${withUnit('alkalinity', alkalinity.demandPerDay, units)} of alkalinity ` +
    `would take ${shown('calcium', expected, units)}. ${culprit(input, pair)} ` +
    'Retest first, both on the same day.'
  );
}

/** The likeliest cause, by what leaves the clearest trace: a product that does not arrive, then low magnesium, then a test. */
function culprit(input: AdviceInput, pair: Pair): string {
  const missed = missedProduct(input, pair);
  if (missed !== undefined)
    return `Likely culprit: the ${missed} product does not arrive, since the demand looks too large by just what the plan gives. Look at its pump, line, container and strength.`;
  const magnesium = input.water.magnesium_mg_L;
  if (magnesium !== undefined && magnesium.value < lowMagnesium_mg_L)
    return `Likely culprit: magnesium is low (${withUnit('magnesium', magnesium.value, input.units)}), so that calcium carbonate precipitates by itself. Look for white crusts on heaters and pumps, and raise magnesium first.`;
  const { of, why } = lessSureTest(pair);
  return `Likely culprit: the ${of} test (${why}); check it against a standard. A dose that was not logged does the same.`;
}

function missedProduct(input: AdviceInput, { alkalinity, calcium }: Pair): 'alkalinity' | 'calcium' | undefined {
  const perDkh = calciumPerAlkalinity_mg_L_per_dKH;
  const plans = input.plansPerDay ?? {};
  const tooMuchCalcium = calcium.demandPerDay - perDkh * alkalinity.demandPerDay;
  const excess = { calcium: tooMuchCalcium, alkalinity: -tooMuchCalcium / perDkh };
  const sd = Math.hypot(calcium.demandSd, perDkh * alkalinity.demandSd);
  const sds = { calcium: sd, alkalinity: sd / perDkh };
  for (const analyte of ['alkalinity', 'calcium'] as const) {
    const plan = plans[analyte] ?? 0;
    // Without a plan this is no more than the uncertainty, which demands out of step have passed.
    if (Math.abs(excess[analyte] - plan) <= missedShare * plan + sds[analyte]) return analyte;
  }
  return undefined;
}

function lessSureTest({ alkalinity, calcium }: Pair): { of: 'alkalinity' | 'calcium'; why: string } {
  if (alkalinity.suspect !== calcium.suspect)
    return { of: alkalinity.suspect ? 'alkalinity' : 'calcium', why: 'its last one does not fit those before' };
  const doubt = {
    alkalinity: calciumPerAlkalinity_mg_L_per_dKH * alkalinity.demandSd,
    calcium: calcium.demandSd,
  };
  const of = doubt.alkalinity > doubt.calcium ? 'alkalinity' : 'calcium';
  return { of, why: 'the less certain of the two' };
}
