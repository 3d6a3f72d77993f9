import type { KeepersUnits } from '../bands/watched-room.ts';
import { within } from '../quantity/out-of-range.ts';
import { largeDifferences, type MeasuredWater, type ShockMetric, shockBetween } from './shock.ts';

/** Least time that closed bags float to take on the tank's temperature, minutes. @source common practice, no published source */
export const leastFloatMinutes = 60;

/**
 * How fast salinity is brought over: most change in one exchange, the wait after it, most of the water exchanged at once.
 * Short: where ammonia harms more than a quicker change of salinity.
 *
 * @source common practice, no published source
 */
export const acclimationPaces = {
  gentle: { mostSalinityPerStep: 1, minutesPerStep: 15, mostShare: 0.5 },
  short: { mostSalinityPerStep: 2, minutesPerStep: 5, mostShare: 0.6 },
} as const;

/** What may be left when the corals move: salinity. @source common practice, no published source */
const salinityLeft = 0.5;

/** Exchanges of a third each when only pH differs: pH does not mix by volume, so they are counted, not computed. */
const phSteps = { count: 3, share: 1 / 3 };

export type AcclimationStep =
  /** Bags closed, on the tank's surface. */
  | { kind: 'float'; minutes: number }
  /** Pour so much out and away, put as much tank water in, wait. */
  | { kind: 'exchange'; litres: number; minutes: number; salinityAfter?: number };

export type AcclimationPlan = {
  steps: AcclimationStep[];
  totalMinutes: number;
  /** Tank water that goes in, to be replaced by fresh salt water as that of a dip is. */
  tankL: number;
  /** Not measured, so that the plan cannot mind it. */
  unknown: ShockMetric[];
  warnings: string[];
};

/**
 * From bag to tank water: temperature in the closed bag first, then salinity and pH by exchanges of tank water, at constant
 * volume.
 *
 * @param bag, tank    as shockBetween
 * @param bagL         water of all bags together, 0.1 to 1000 L
 * @param isShort      the ammonia warning of ammoniaInBag holds
 * @param floatMinutes an hour unless given; 60 to 240
 * @param units        in which the warnings speak
 * @returns without an exchange when neither salinity nor pH differs much, or neither is known
 * @throws OutOfRange  outside these limits
 * @source conservation of salt; paces common practice, no published source
 */
export function acclimationPlan(
  bag: MeasuredWater,
  tank: MeasuredWater,
  bagL: number,
  isShort: boolean,
  floatMinutes: number = leastFloatMinutes,
  units: KeepersUnits = {},
): AcclimationPlan {
  const litres = within('water of the bags, L', bagL, 0.1, 1000);
  const verdict = shockBetween(bag, tank, largeDifferences, units);
  const large = (metric: ShockMetric) => verdict.differences.find((found) => found.metric === metric && found.isLarge);
  const pace = isShort ? acclimationPaces.short : acclimationPaces.gentle;
  const salinity = large('salinity');
  const exchanges: AcclimationStep[] = salinity
    ? salinityExchanges(salinity.from, salinity.to, litres, pace)
    : large('ph') && !isShort
      ? Array.from({ length: phSteps.count }, () => ({
          kind: 'exchange' as const,
          litres: litres * phSteps.share,
          minutes: pace.minutesPerStep,
        }))
      : [];
  const steps = [
    { kind: 'float' as const, minutes: within('float, minutes', floatMinutes, leastFloatMinutes, 240) },
    ...exchanges,
  ];
  const warnings = [...verdict.warnings];
  if (isShort && exchanges.length > 0) {
    warnings.push('Ammonia: quick, larger exchanges thin it as they bring the salinity over. Do not stretch them.');
  }
  if (verdict.unknown.length > 0) warnings.push(`Not measured in both waters: ${verdict.unknown.join(', ')}.`);
  return {
    steps,
    totalMinutes: steps.reduce((sum, { minutes }) => sum + minutes, 0),
    tankL: steps.reduce((sum, step) => sum + (step.kind === 'exchange' ? step.litres : 0), 0),
    unknown: verdict.unknown,
    warnings,
  };
}

function salinityExchanges(
  from: number,
  to: number,
  litres: number,
  pace: (typeof acclimationPaces)[keyof typeof acclimationPaces],
): AcclimationStep[] {
  const steps: AcclimationStep[] = [];
  let salinity = from;
  // Each step moves by the pace or by a set share of the gap: it ends.
  while (Math.abs(to - salinity) > salinityLeft + 1e-9) {
    const gap = Math.abs(to - salinity);
    const wanted = Math.min(pace.mostSalinityPerStep, gap * pace.mostShare);
    salinity += Math.sign(to - salinity) * wanted;
    steps.push({
      kind: 'exchange',
      litres: (litres * wanted) / gap,
      minutes: pace.minutesPerStep,
      salinityAfter: salinity,
    });
  }
  return steps;
}
