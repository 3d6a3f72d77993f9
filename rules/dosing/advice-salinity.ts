import { dayMs } from '../clock/durations.ts';
import { saltCautions } from '../mixing/salinity-correction.ts';
import { defined } from '../plain-data/defined.ts';
import type { KeepersUnits } from '../quantity/band.ts';
import type { DemandEstimate } from '../trend/demand-filter.ts';
import { forecastLevel } from '../trend/forecast.ts';
import { bandText } from '../words/value-text.ts';
import { daysAhead } from './advice-facts.ts';
import { pathOf } from './advice-path.ts';
import { salinityHoldBacks } from './advice-salinity-hold-backs.ts';
import { type SalinityAdviceInput, type SalinityLevel, salinityLevel } from './advice-salinity-level.ts';
import { gramsPerLitreAt35, salinitySteps } from './advice-salinity-plan.ts';
import type { Advice, Predicted, SideEffect, WaterSteps } from './advice-types.ts';
import { salinityChangeText, salinityText } from './salinity-text.ts';

/** Drift is told when it comes to so much in a month. */
const toldDriftPerMonth = 0.1;
/** The drift by dosing is known to about half, since nobody weighs what skimmer and water changes take out. */
const driftDoubt = 0.5;
const wanderPerDay = 0.02;
/** Salinity is moved by water, not by stocks. */
const noDosing = (): Pick<Advice, 'plan' | 'today' | 'dosingNow'> => ({ plan: [], today: [], dosingNow: 'leave' });

/**
 * What to do about the salinity: leave it, top off, or exchange water, how much each day and why. A suggestion to a person.
 *
 * It never moves salinity by more than the band's most a day, salts dosed included, and holds back with its reasons when
 * probe, test or temperature are in doubt, or when evaporation or the top-off is the likely cause.
 *
 * @param input  salinities practical, volume in litres
 * @throws OutOfRange  for numbers that are not finite
 */
export function adviseSalinity(input: SalinityAdviceInput): Advice {
  const known = salinityLevel(input);
  const holdBacks = salinityHoldBacks(input, known);
  const sideEffects = driftEffects(input);
  if (known === undefined || holdBacks.length > 0) {
    return {
      kind: 'hold_back',
      analyte: 'salinity',
      cautions: [],
      retestAtMs: input.nowMs,
      holdBacks,
      ...noDosing(),
      reason: `${holdBacks[0]!.text} Until then neither salt nor water to change it.`,
      ...(known === undefined ? {} : { predicted: predictedBy(input, known, undefined, sideEffects) }),
      sure: { word: 'barely', text: 'Not enough data for a step.' },
      working: [...(known?.lines ?? []), ...holdBacks.map(({ text }) => text)],
    };
  }
  const steps = salinitySteps(input, known);
  const predicted = predictedBy(input, known, steps, sideEffects);
  return {
    kind: steps === undefined ? 'nothing' : 'dose',
    analyte: 'salinity',
    ...noDosing(),
    reason: reasonOf(input, known, steps),
    ...defined({ water: steps }),
    predicted,
    cautions: steps === undefined ? [] : cautionsOf(steps, input, known),
    sure: surenessOf(input, known),
    // The next step waits for a measurement once the water has turned over.
    retestAtMs: input.nowMs + (steps === undefined ? 7 * dayMs : dayMs),
    holdBacks: [],
    working: workingOf(input, known, steps, predicted),
  };
}

function driftEffects({ driftPerDay, units }: SalinityAdviceInput): SideEffect[] {
  if (Math.abs(driftPerDay) * 30 < toldDriftPerMonth) return [];
  const text = `The salts dosed raise salinity by about ${salinityChangeText(driftPerDay * 30, 2, units)} in 30 days: make the new water of water changes that much fresher, or exchange some for fresh.`;
  return [{ metric: 'salinity', perDay: driftPerDay, text }];
}

function predictedBy(
  input: SalinityAdviceInput,
  { level, sd }: SalinityLevel,
  steps: WaterSteps | undefined,
  sideEffects: SideEffect[],
): Predicted {
  const { band } = input.system;
  const demandSd = Math.hypot(wanderPerDay, driftDoubt * input.driftPerDay);
  const start: DemandEstimate = {
    timeMs: input.nowMs,
    level,
    levelSd: sd,
    demandPerDay: -input.driftPerDay,
    demandSd,
    levelDemandCovariance: 0,
    suspect: false,
    learnedTestSd: sd,
    learnedGrowthSd: 0,
    testsUsed: 1,
  };
  const doses = (steps?.changeOnDay ?? []).map((rise, day) => ({ timeMs: input.nowMs + day * dayMs + 1, rise }));
  const without = forecastLevel(start, { risePerDay: 0 }, band, daysAhead);
  const following = forecastLevel(start, { risePerDay: 0, doses }, band, daysAhead);
  return {
    withAdvice: pathOf(following),
    withoutAdvice: pathOf(without),
    chanceToLeaveWith: following.chanceToLeave,
    chanceToLeaveWithout: without.chanceToLeave,
    ...defined({ leavesWithoutAdviceAtMs: without.leavesAtMs, leavesWithAdviceAtMs: following.leavesAtMs }),
    sideEffects,
  };
}

const deed: Record<WaterSteps['do'], (litres: number, steps: WaterSteps, units: KeepersUnits) => string> = {
  top_off_fresh: (litres) => `water is missing, so top off with ${litres} L of fresh water today`,
  exchange_for_fresh: (litres) => `exchange ${litres} L for fresh water today`,
  top_off_with_salt_water: (litres, { newSalinity, saltGramsOnDay }, units) =>
    `top off with ${litres} L of water of salinity ${newWater(newSalinity, units)} (about ${saltGramsOnDay?.[0]} g of salt) in place of fresh today`,
  salt_into_drawn_off: (litres, { saltGramsOnDay }) =>
    `draw off ${litres} L of tank water, dissolve ${saltGramsOnDay?.[0]} g of salt mix in it, and pour it back slowly today`,
  exchange_for_saltier: (litres, { newSalinity, saltGramsOnDay }, units) =>
    `exchange ${litres} L for new water of salinity ${newWater(newSalinity, units)} (about ${saltGramsOnDay?.[0]} g of salt) today`,
};

/** The salinity of new water, as it was worked out to a tenth. */
function newWater(salinity: number, units: KeepersUnits): string {
  return salinityText(salinity, Number.isInteger(salinity) ? 0 : 1, units);
}

function reasonOf(input: SalinityAdviceInput, { level }: SalinityLevel, steps: WaterSteps | undefined): string {
  const { band } = input.system;
  const middle = (band.low + band.high) / 2;
  const { units } = input;
  const now = `Salinity is ${salinityText(level, 1, units)}`;
  const edges = bandText('salinity', band, units ?? {});
  if (steps === undefined) {
    const isInside = level >= band.low && level <= band.high;
    const newest = input.probe?.newest;
    if (isInside && newest !== undefined && (newest < band.low || newest > band.high))
      return `Salinity was ${salinityText(level, 1, units)} over the last hours, inside its band, and the probe reads ${salinityText(newest, 1, units)} just now, outside it (${edges}). Look at the probe and the top-off first; change nothing on one reading.`;
    return isInside
      ? `${now}, in its band (${edges}) as far as the instruments can tell. Keep topping off with fresh water as it evaporates.`
      : `${now}, outside its band (${edges}), and the salts dosed already move it by all that a day allows, or a day's step is less than can be measured out. Change nothing else, and measure again.`;
  }
  const side = steps.totalChange > 0 ? 'below' : 'above';
  const days = steps.litresOnDay.length;
  const more = days === 1 ? '' : `, and so on for ${days} days`;
  return `${now}, ${salinityChangeText(Math.abs(middle - level), 1, units)} ${side} the middle of the band: ${deed[steps.do](steps.litresOnDay[0]!, steps, units ?? {})}${more}.`;
}

function cautionsOf(steps: WaterSteps, input: SalinityAdviceInput, { level }: SalinityLevel): string[] {
  const share = Math.abs(steps.changeOnDay[0]!) / level;
  if (steps.totalChange < 0) {
    const first =
      input.isWaterLow === undefined
        ? ['Look at the water level mark first: if water is missing, top off with these litres and take nothing out.']
        : [];
    return [
      ...first,
      'Use purified fresh water at the temperature of the tank, and add it slowly where the flow is strong.',
      `Alkalinity, calcium and magnesium fall along by ${(100 * share).toFixed(1)} % a day: do not dose them back until salinity is right.`,
      'Measure again after the water has turned over, before the next step.',
    ];
  }
  const amount =
    steps.do === 'top_off_with_salt_water'
      ? [
          'Give no more than evaporates: the rest of the day’s top-off is fresh. A reservoir of salt water may not stay in the automatic top-off when this is done.',
        ]
      : ['Test the alkalinity of the new water: a large change of it counts as much as the salinity.'];
  return [
    ...amount,
    ...saltCautions,
    'The grams are for a usual salt mix: go by the maker’s label and by the salinity measured.',
  ];
}

function surenessOf(input: SalinityAdviceInput, { sd, lines }: SalinityLevel): Advice['sure'] {
  const { band } = input.system;
  const doubt = (1.96 * sd) / ((band.high - band.low) / 2);
  const text = `Salinity within ± ${salinityChangeText(1.96 * sd, 2, input.units)}, from ${lines.length > 1 ? 'the probe and a test' : 'one instrument alone'}.`;
  return { word: doubt < 0.35 ? 'well' : doubt < 0.7 ? 'fairly' : 'barely', text, levelWithin: 1.96 * sd };
}

function workingOf(
  input: SalinityAdviceInput,
  { level, sd, lines }: SalinityLevel,
  steps: WaterSteps | undefined,
  predicted: Predicted,
): string[] {
  const { band, volumeL } = input.system;
  const middle = (band.low + band.high) / 2;
  const { units } = input;
  const say = (salinity: number): string => salinityText(salinity, 2, units);
  const signed = (change: number): string =>
    `${change < 0 ? '−' : '+'}${salinityChangeText(Math.abs(change), 2, units)}`;
  const days = steps?.litresOnDay.map((litres, day) => `${litres} L (${signed(steps.changeOnDay[day]!)})`).join(', ');
  const end = predicted.withAdvice.at(-1)!;
  const without = predicted.withoutAdvice.at(-1)!;
  const wanted = middle - level;
  const saltInAll = (volumeL * gramsPerLitreAt35 * Math.abs(wanted)) / 35;
  return [
    ...lines,
    `Salinity now: ${say(level)} ± ${salinityChangeText(1.96 * sd, 2, units)} (95 % interval). Band ${bandText('salinity', band, units ?? {})}, middle ${say(middle)}; middle minus level: ${signed(wanted)}.`,
    `The salts dosed add ${salinityChangeText(input.driftPerDay, 3, units)} a day.`,
    ...(days === undefined
      ? ['Nearer to the middle than its uncertainty or half the way to the edge: nothing to do.']
      : []),
    ...(days === undefined ? [] : [`Day by day into ${volumeL} L: ${days}.`]),
    ...(steps !== undefined && wanted > 0
      ? [
          `The same by the next water changes: about ${saltInAll.toFixed(0)} g more salt in their water in all, spread so that no day rises by more.`,
        ]
      : []),
    `In ${daysAhead} days, if nothing is changed until then: ${say(end.level)} with this, ${say(without.level)} without.`,
  ];
}
