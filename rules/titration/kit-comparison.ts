import { OutOfRange, within } from '../quantity/out-of-range.ts';
import { combined } from './coverage.ts';

/** What a kit made of a water whose value is known otherwise, in one unit. */
export type KitPair = {
  found: number;
  reference: number;
  /** Standard uncertainty of the reference, 0 or more. */
  referenceSd: number;
  /** True for a bottled reference, whose error is the same each time; false for a titration, whose error is another each time. */
  isCommon: boolean;
};

export type KitKnown = {
  /** Smallest step of the kit's scale. */
  resolution?: number | undefined;
  /** Standard deviation of a usual kit of this kind, for a single pair. */
  usualSd?: number | undefined;
};

/** What pairs say of a kit. Intervals are of 95 %. */
export type KitFound = {
  /** By how much the kit reads above what is there. */
  bias: { value: number; sd: number; low: number; high: number };
  /** Of one test by this kit; absent for a single pair. */
  sd: { value: number; low: number; high: number } | undefined;
  /** The same for weighing its tests: drawn towards the usual one while pairs are few; absent when nothing is known. */
  weightSd: number | undefined;
  pairs: number;
};

/** Pairs that the usual standard deviation counts as, while the kit's own is not known. Common practice, no published source */
const usualCountsAs = 2;

/**
 * Bias and standard deviation of a kit from tests of waters whose value is known: a reference solution, or water that was titrated.
 *
 * @param pairs  1 or more, values any finite numbers in one unit
 * @returns undefined for a single pair of which neither resolution nor usual sd is known: it tells no uncertainty
 * @throws OutOfRange  for no pair, a number that is not finite, a negative uncertainty
 * @source JCGM 100:2008, 4.2 (repeats), F.2.2.1 (resolution), G.3 and G.4 (intervals of few); the interval of a standard deviation by
 *   chi-square, NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.8
 */
export function kitFromPairs(pairs: readonly KitPair[], known: KitKnown = {}): KitFound | undefined {
  const count = pairs.length;
  if (count < 1) throw new OutOfRange('number of pairs', count, '1 or more');
  for (const { found, reference, referenceSd } of pairs) {
    within('what the kit found', found, -1e9, 1e9);
    within('the reference', reference, -1e9, 1e9);
    within('standard uncertainty of the reference', referenceSd, 0, 1e9);
  }
  const stepSd = (known.resolution ?? 0) / Math.sqrt(12);
  const differences = pairs.map(({ found, reference }) => found - reference);
  const mean = differences.reduce((sum, each) => sum + each, 0) / count;
  const common = pairs.filter(({ isCommon }) => isCommon);
  const commonSd = (Math.max(0, ...common.map(({ referenceSd }) => referenceSd)) * common.length) / count;
  const independentVariance =
    pairs.reduce((sum, { isCommon, referenceSd }) => sum + (isCommon ? 0 : referenceSd ** 2), 0) / count;
  if (count === 1) {
    const single = Math.max(known.usualSd ?? 0, stepSd);
    if (single === 0) return undefined;
    const alone = combined([
      { sd: Math.hypot(single, Math.sqrt(independentVariance)), freedom: Number.POSITIVE_INFINITY },
      { sd: commonSd, freedom: Number.POSITIVE_INFINITY },
    ]);
    return { bias: around(mean, alone), sd: undefined, weightSd: single, pairs: 1 };
  }

  const freedom = count - 1;
  const scatter = Math.sqrt(differences.reduce((sum, each) => sum + (each - mean) ** 2, 0) / freedom);
  const spread = Math.max(scatter, stepSd);
  const bias = combined([
    { sd: spread / Math.sqrt(count), freedom },
    { sd: commonSd, freedom: Number.POSITIVE_INFINITY },
  ]);
  const ofKit = (variance: number): number => Math.max(stepSd, Math.sqrt(Math.max(0, variance - independentVariance)));
  const [low, high] = chiSquare95(freedom);
  const sd = {
    value: ofKit(spread ** 2),
    low: ofKit((spread ** 2 * freedom) / high),
    high: ofKit((spread ** 2 * freedom) / low),
  };
  const usual = known.usualSd ?? sd.value;
  const weightSd = Math.sqrt((freedom * sd.value ** 2 + usualCountsAs * usual ** 2) / (freedom + usualCountsAs));
  return { bias: around(mean, bias), sd, weightSd, pairs: count };
}

function around(value: number, { sd, halfWidth95 }: { sd: number; halfWidth95: number }): KitFound['bias'] {
  return { value, sd, low: value - halfWidth95, high: value + halfWidth95 };
}

/**
 * The 2.5 % and 97.5 % points of chi-square for 1 to 10 degrees of freedom.
 *
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4
 */
const chiSquareTable: readonly [number, number][] = [
  [0.001, 5.024],
  [0.051, 7.378],
  [0.216, 9.348],
  [0.484, 11.143],
  [0.831, 12.833],
  [1.237, 14.449],
  [1.69, 16.013],
  [2.18, 17.535],
  [2.7, 19.023],
  [3.247, 20.483],
];

/** Beyond the table by the cube root. @source Wilson & Hilferty 1931, Proc. Natl. Acad. Sci. 17:684 */
function chiSquare95(freedom: number): [low: number, high: number] {
  const row = chiSquareTable[freedom - 1];
  if (row !== undefined) return row;
  const at = (z: number) => freedom * (1 - 2 / (9 * freedom) + z * Math.sqrt(2 / (9 * freedom))) ** 3;
  return [at(-1.96), at(1.96)];
}
