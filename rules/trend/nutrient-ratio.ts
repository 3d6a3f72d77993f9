import { molarMass_g_mol } from '../quantity/atomic-weights.ts';
import { within } from '../quantity/out-of-range.ts';
import { sdsFor95Percent } from './normal-distribution.ts';

const nitrate_g_mol = molarMass_g_mol({ N: 1, O: 3 });
const phosphate_g_mol = molarMass_g_mol({ P: 1, O: 4 });

/** Atoms of nitrogen to each atom of phosphorus, for a ratio of nitrate to phosphate by mass. */
export const molesPerMassRatio = phosphate_g_mol / nitrate_g_mol;

/** A level with its standard deviation, mg/L. */
export type KnownLevel = { level: number; levelSd: number };

export type NutrientRatio = {
  /** Nitrate to phosphate by mass; absent where no phosphate is known to be there. */
  ratio?: number;
  low95: number;
  /** Absent: phosphate may be so near to nothing that the ratio has no upper end. */
  high95?: number;
};

/**
 * Nitrate to phosphate by mass with its 95 % interval.
 *
 * @param nitrate, phosphate  mg/L of the ion, 0 or more
 * @throws OutOfRange  for a level below 0 or an sd that is not finite
 * @source interval of a ratio of two normal means: Fieller 1954, J. R. Stat. Soc. B 16, 175–185 (cited from memory)
 */
export function nutrientRatio(nitrate: KnownLevel, phosphate: KnownLevel): NutrientRatio {
  const n = within('nitrate, mg/L', nitrate.level, 0, 1e5);
  const p = within('phosphate, mg/L', phosphate.level, 0, 1e5);
  const a = p * p - (sdsFor95Percent * within('sd of phosphate, mg/L', phosphate.levelSd, 0, 1e5)) ** 2;
  const c = n * n - (sdsFor95Percent * within('sd of nitrate, mg/L', nitrate.levelSd, 0, 1e5)) ** 2;
  const ratio = p > 0 ? { ratio: n / p } : {};
  if (a <= 0) {
    // With the most phosphate and the least nitrate; there is no other end.
    const least = Math.max(0, n - sdsFor95Percent * nitrate.levelSd) / (p + sdsFor95Percent * phosphate.levelSd || 1);
    return { ...ratio, low95: least };
  }
  const root = Math.sqrt(Math.max(0, n * n * p * p - a * c));
  return { ...ratio, low95: Math.max(0, (n * p - root) / a), high95: (n * p + root) / a };
}
