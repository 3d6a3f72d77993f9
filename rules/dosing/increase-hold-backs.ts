import { dayMs } from '../clock/durations.ts';
import { demandFacts } from '../trend/demand-facts.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { adviceFacts, shown, withUnit } from './advice-facts.ts';
import type { AdviceInput, HoldBack } from './advice-types.ts';
import { deliveryOf, worthLooking } from './delivery.ts';
import { dilutionOf } from './dilution.ts';
import { areDosesNotSeen } from './doses-not-seen.ts';
import { salinityText } from './salinity-text.ts';
import type { StockInUse } from './stocks-in-use.ts';

/** Salinity older than this does not speak for the water of now. */
const salinityGoodForDays = 7;
/** Where dilution explains less than this share of what is missing, the rest is dosed. common practice, no published source */
const mostDosedShare = 0.5;
/** A use known within no less than this share of the first guess's own doubt, and of itself, is a guess. Chosen here: two tests a night apart know better. */
const guessShare = 0.35;

/**
 * The reasons not to give more of an analyte, asked only when more is wanted: what they guard against is an increase that does
 * harm in the story that the numbers do not tell.
 *
 * @param plannedRise  what the plan alone raises the level by, unit a day
 */
export function increaseHoldBacks(
  input: AdviceInput,
  estimate: DemandEstimate,
  stocks: readonly StockInUse[],
  plannedRise: number,
): HoldBack[] {
  const line = [...emptyContainer(stocks), ...notArriving(input, estimate, plannedRise)];
  return [
    ...(line.length > 0 ? line : notSeen(input, estimate, plannedRise)),
    ...useNotKnown(input, estimate),
    ...salinityFirst(input, estimate),
    ...onlyDiluted(input, estimate),
  ];
}

function emptyContainer(stocks: readonly StockInUse[]): HoldBack[] {
  return stocks.flatMap(({ stock }): HoldBack[] => {
    if (stock.isEmpty !== true || stock.planPerDay <= 0) return [];
    const text =
      `By its own count the container of ${stock.product.name} is empty, so what the corals seem to use may be a dose that never came. ` +
      'Refill it, look at pump and tube, log the refill, then test again.';
    return [{ rule: 'container_empty', text }];
  });
}

function notArriving(input: AdviceInput, estimate: DemandEstimate, plannedRise: number): HoldBack[] {
  const delivery = deliveryOf(
    ...([
      estimate,
      input.pastDemands ?? [],
      plannedRise,
      input.arrivalsMs ?? [],
      input.planSeenMs,
      input.nowMs,
    ] as const),
  );
  if (delivery === undefined || delivery.missingShare <= 0 || delivery.chanceNotArriving < worthLooking) return [];
  const { label } = adviceFacts[input.analyte];
  const text =
    `${label} falls as if ${shown(input.analyte, delivery.missingShare * plannedRise, input.units)} of the ${withUnit(input.analyte, plannedRise, input.units)} a day ` +
    'in the plan did not arrive. Look at the pump, the tube and the container first. If all is well, log the plan again as it is: ' +
    'then the corals use more.';
  return [{ rule: 'plan_may_not_arrive', text }];
}

/** The alarm is active that says so, and it asks for no more until pump and solution are looked at. */
function notSeen(input: AdviceInput, estimate: DemandEstimate, plannedRise: number): HoldBack[] {
  if (!areDosesNotSeen(input, estimate, plannedRise)) return [];
  const { label } = adviceFacts[input.analyte];
  const text =
    `${label} was dosed, and the tests do not show it. Look at the pump, the tube, the container and the strength of the solution ` +
    `first. If all is well, log ${plannedRise > 0 ? 'the plan again as it is' : 'a refill'}: then the corals use more.`;
  return [{ rule: 'doses_not_seen', text }];
}

/**
 * A dose that goes on for days rests on the use. Before tests tell of it the filter has a guess, and tests of one sitting confirm the level
 * alone. Water that is surely below its band is led back all the same.
 */
function useNotKnown({ analyte, system }: AdviceInput, estimate: DemandEstimate): HoldBack[] {
  const { label } = adviceFacts[analyte];
  if (estimate.testsUsed <= 1) {
    const text = `${label} has been tested only once. Test a second time before anything is corrected.`;
    return [{ rule: 'one_test', text }];
  }
  const { demandPerDay, demandSd, level, levelSd } = estimate;
  const isGuess = demandSd >= guessShare * demandFacts[analyte].firstDemandSd && demandSd >= guessShare * demandPerDay;
  if (!isGuess || level + levelSd < system.band.low) return [];
  const text = `The tests so far do not tell how much is used in a day. Test ${label.toLowerCase()} again tomorrow; then advice can.`;
  return [{ rule: 'use_not_known', text }];
}

function salinityFirst({ analyte, system, water, units }: AdviceInput, { level }: DemandEstimate): HoldBack[] {
  const band = system.otherBands.salinity;
  const { salinity } = water;
  if (band === undefined || salinity === undefined || salinity.ageMs > salinityGoodForDays * dayMs) return [];
  if (salinity.value >= band.low && salinity.value <= band.high) return [];
  const { label } = adviceFacts[analyte];
  const then = (level * (band.low + band.high)) / 2 / salinity.value;
  const text =
    `Salinity is outside its band (${salinityText(salinity.value, 1, units)}). Correct it first: that alone takes ${label.toLowerCase()} from ` +
    `${shown(analyte, level, units)} to about ${withUnit(analyte, then, units)}.`;
  return [{ rule: 'salinity_first', text }];
}

/** What fresh water has thinned comes back with the salt; a dose on top would be too much by then. */
function onlyDiluted(input: AdviceInput, estimate: DemandEstimate): HoldBack[] {
  const { analyte, system, units } = input;
  const dilution = dilutionOf(input, estimate);
  if (dilution === undefined) return [];
  const missing = (system.band.low + system.band.high) / 2 - estimate.level;
  if (dilution.fallenBy < mostDosedShare * missing) return [];
  const { label } = adviceFacts[analyte];
  const text =
    `Salinity fell from ${salinityText(dilution.salinityBefore, 1, units)} to ${salinityText(dilution.salinityNow, 1, units)}, and that alone took ` +
    `${withUnit(analyte, dilution.fallenBy, units)} of ${label.toLowerCase()}: at salinity 35 it is ${shown(analyte, dilution.levelAt35, units)}, ` +
    `and was ${shown(analyte, dilution.before35, units)}. Bring the salinity back first, then test again.`;
  return [{ rule: 'only_diluted', text }];
}
