import type { DemandEstimate } from '../trend/demand-filter.ts';

/**
 * Price of a test, in the squared scale of the loss (`control.ts`): what a distance of 0.2 dKH costs all the while. More than that of an
 * act at the pump, since a titration takes longer than a turn of a knob.
 */
const priceOfTest = 0.04;
const stepDays = 0.5;
const parts = 24;

/** Of level and use: variance of the level, covariance, variance of the use; and how the use wanders, a day. */
type Spread = { level: number; both: number; use: number; growth: number };

/** A test that is worth more than its price before the usual one. */
export type SoonerTest = {
  /** From now, days. */
  days: number;
  /** Standard deviation of the level by the usual test without it, unit. */
  levelSdThen: number;
};

/**
 * Whether a test before the usual one takes more off the expected loss than it costs, and when it takes the most. What a test takes
 * off is the part of the level's variance that it makes known, and that can then be dosed away, from its day to that of the usual test.
 *
 * @param usualDays  until the usual test, days from now
 * @param scale  1 of the loss, in the analyte's unit
 * @returns undefined where no earlier test is worth its price
 */
export function soonerTest(
  estimate: Pick<
    DemandEstimate,
    'levelSd' | 'demandSd' | 'levelDemandCovariance' | 'learnedGrowthSd' | 'learnedTestSd'
  >,
  usualDays: number,
  scale: number,
): SoonerTest | undefined {
  const now: Spread = {
    level: estimate.levelSd ** 2,
    both: estimate.levelDemandCovariance,
    use: estimate.demandSd ** 2,
    growth: estimate.learnedGrowthSd ** 2,
  };
  let best: { days: number; saved: number } | undefined;
  for (let days = stepDays; days <= usualDays - stepDays; days += stepDays) {
    const before = after(now, days);
    const tested = knownBy(before, estimate.learnedTestSd ** 2);
    let saved = 0;
    for (let part = 1; part <= parts; part++) {
      const later = ((usualDays - days) * part) / parts;
      saved += (after(before, later).level - after(tested, later).level) / parts;
    }
    saved *= (usualDays - days) / usualDays / scale ** 2;
    if (saved > (best?.saved ?? priceOfTest)) best = { days, saved };
  }
  return best && { days: best.days, levelSdThen: Math.sqrt(after(now, usualDays).level) };
}

/** Days later: what is not known of the use becomes unknown level. */
function after({ level, both, use, growth }: Spread, days: number): Spread {
  return {
    level: level - 2 * days * both + days ** 2 * use + (growth * days ** 3) / 3,
    both: both - days * use - (growth * days ** 2) / 2,
    use: use + growth * days,
    growth,
  };
}

/** After a test of this variance. */
function knownBy({ level, both, use, growth }: Spread, testVariance: number): Spread {
  const all = level + testVariance;
  return { level: level - level ** 2 / all, both: both - (level * both) / all, use: use - both ** 2 / all, growth };
}
