import type { DemandEstimate } from '#rules/trend/demand-filter.ts';
import { sdsFor95Percent } from '#rules/trend/normal-distribution.ts';
import { molesPerMassRatio, type NutrientRatio, nutrientRatio } from '#rules/trend/nutrient-ratio.ts';
import type { Estimator } from './estimator.ts';

export type Level = { level: number; low95: number; high95: number; tests_used: number };

export type NutrientsNow = {
  nitrate: Level | null;
  phosphate: Level | null;
  ratio: NutrientRatio | undefined;
  byMoles: number | null;
  text: string;
};

function levelOf(estimate: DemandEstimate | undefined): Level | null {
  if (estimate === undefined) return null;
  const within = sdsFor95Percent * estimate.levelSd;
  return {
    level: estimate.level,
    low95: Math.max(0, estimate.level - within),
    high95: Math.max(0, estimate.level + within),
    tests_used: estimate.testsUsed,
  };
}

const words = (name: string, { level, low95, high95 }: Level, decimals: number): string =>
  `${name} ${level.toFixed(decimals)} mg/L (${low95.toFixed(decimals)} to ${high95.toFixed(decimals)})`;

/** What is known of the two nutrients of a system, and their ratio. */
export function nutrientsNow(estimator: Pick<Estimator, 'estimate'>, system: string): NutrientsNow {
  const nitrate = estimator.estimate(system, 'nitrate');
  const phosphate = estimator.estimate(system, 'phosphate');
  const [n, p] = [levelOf(nitrate), levelOf(phosphate)];
  const ratio = nitrate === undefined || phosphate === undefined ? undefined : nutrientRatio(nitrate, phosphate);
  const byMoles = ratio?.ratio === undefined ? null : ratio.ratio * molesPerMassRatio;
  const known = [
    n === null ? 'Nitrate not tested yet' : words('nitrate', n, 1),
    p === null ? 'phosphate not tested yet' : words('phosphate', p, 3),
  ].join(', ');
  return { nitrate: n, phosphate: p, ratio, byMoles, text: `${capital(known)}.${ratioWords(ratio, byMoles)}` };
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

function ratioWords(ratio: NutrientRatio | undefined, byMoles: number | null): string {
  if (ratio === undefined) return '';
  if (ratio.ratio === undefined || ratio.high95 === undefined)
    return ` At least ${ratio.low95.toFixed(0)} to 1 by mass: phosphate may be next to nothing.`;
  return (
    ` ${ratio.ratio.toFixed(0)} to 1 by mass (${ratio.low95.toFixed(0)} to ${ratio.high95.toFixed(0)}), ` +
    `${(byMoles ?? 0).toFixed(0)} atoms of nitrogen to 1 of phosphorus. Tanks do well at very different ratios.`
  );
}
