import { OutOfRange, within } from '../quantity/out-of-range.ts';

/** A value with its standard uncertainty, in one unit. */
export type Measured = { value: number; sd: number };

/** Where the uncertainty of a test comes from, each as a standard uncertainty in the unit of the result, largest first. */
type UncertaintyShare = {
  from: 'resolution' | 'repeatability' | 'factor' | 'sample' | 'lot';
  sd: number;
};

/**
 * A test by end point: titrant is added until the colour turns, by drops or by a syringe or burette, and its amount is
 * turned into a result by a factor.
 */
export type EndPointTest = {
  /** Amount of titrant to the end point, mL or drops: one for each time the test was done on the same water. */
  amounts: readonly number[];
  /** Smallest step of the amount: a graduation, or 1 for drops. */
  resolution: number;
  /** How many times the scale is read for one amount: 2 for start and end of a syringe, 1 for drops or a zeroed scale. */
  readingsForOneAmount: 1 | 2;
  /** Standard deviation of one amount when the test is repeated, in mL or drops, if known. */
  repeatabilitySd?: number;
  /** Result for one mL or one drop, at the sample size that the factor is meant for. See `factorFromStrength`. */
  factor: number;
  /** Standard uncertainty of the factor as a share of it. */
  factorRelativeSd?: number;
  /** Standard uncertainty of the sample's volume as a share of it. */
  sampleRelativeSd?: number;
  /** From a reference standard tested with the same lot. See `lotCorrection`. */
  lot?: LotCorrection;
};

export type EndPointResult = Measured & { shares: UncertaintyShare[] };

/** What a reference standard says about a lot of reagents: multiply by the factor. */
export type LotCorrection = { factor: number; relativeSd: number };

/**
 * Result for one mL of titrant from first principles.
 *
 * @param titrant_mol_L     strength, 0.0001 to 20 mol/L
 * @param sample_mL         0.1 to 1000 mL
 * @param resultPerMmol_L   what one mmol/L of titrant in the sample means: for alkalinity by a monoprotic acid 1 meq/L or
 *   2.80385 dKH; for calcium by EDTA 40.078 mg/L
 * @returns in the unit of the result, for one mL
 * @throws OutOfRange  outside these limits
 */
export function factorFromStrength(titrant_mol_L: number, sample_mL: number, resultPerMmol_L: number): number {
  const mmol_mL = within('titrant, mol/L', titrant_mol_L, 1e-4, 20);
  const perMmol = within('result for one mmol/L', resultPerMmol_L, 1e-9, 1e9);
  return (1000 * mmol_mL * perMmol) / within('sample, mL', sample_mL, 0.1, 1000);
}

/**
 * Correction of a lot of reagents from a reference standard that was tested with it.
 *
 * @param stated  what the standard holds by its certificate or label, above 0
 * @param found   what the test made of it, uncorrected, such as the result of `resultFromEndPoint`, above 0
 * @returns stated over found; a test of one's own water multiplied by it agrees with the standard
 * @throws OutOfRange  when stated or found are not above 0, and for a correction outside 0.5 to 2: no lot, but a mistake
 * @source JCGM 100:2008, 5.1.6 (relative uncertainties of a quotient)
 */
export function lotCorrection(stated: Measured, found: Measured): LotCorrection {
  for (const [name, { value, sd }] of Object.entries({ stated, found })) {
    within(`${name} standard`, value, Number.MIN_VALUE, 1e9);
    within(`standard uncertainty of the ${name} standard`, sd, 0, 1e9);
  }
  return {
    factor: within('correction of the lot', stated.value / found.value, 0.5, 2),
    relativeSd: Math.hypot(stated.sd / stated.value, found.sd / found.value),
  };
}

/**
 * Result of an end-point test with its standard uncertainty.
 *
 * A step of the scale is a rectangle: its standard uncertainty is the step over √12, and over √6 where two readings are
 * subtracted. Repeats count by the standard deviation of their mean; a single test by the stated repeatability.
 *
 * @returns result in the unit of the factor; its shares of uncertainty, as squares, add to the square of `sd`
 * @throws OutOfRange  for no amount, an amount outside 0 to 1,000,000, a factor not above 0, or a negative uncertainty
 * @source JCGM 100:2008, 4.2 (repeats), F.2.2.1 (resolution), 5.1.2 (combination)
 */
export function resultFromEndPoint(test: EndPointTest): EndPointResult {
  const count = test.amounts.length;
  if (count < 1) throw new OutOfRange('number of amounts', count, '1 or more');
  for (const amount of test.amounts) within('amount of titrant', amount, 0, 1e6);
  const factor =
    within('factor', test.factor, 1e-9, 1e9) * within('correction of the lot', test.lot?.factor ?? 1, 0.5, 2);
  const resolution = within('resolution', test.resolution, 0, 1e6);
  const stated = within('repeatability', test.repeatabilitySd ?? 0, 0, 1e6);
  const factorRelativeSd = within('relative uncertainty of the factor', test.factorRelativeSd ?? 0, 0, 1);
  const sampleRelativeSd = within('relative uncertainty of the sample', test.sampleRelativeSd ?? 0, 0, 1);
  const lotRelativeSd = within('relative uncertainty of the lot', test.lot?.relativeSd ?? 0, 0, 1);

  const mean = test.amounts.reduce((sum, amount) => sum + amount, 0) / count;
  const value = mean * factor;
  const shares: UncertaintyShare[] = [
    // The same graduation is read each time, so repeating does not make the step finer.
    { from: 'resolution', sd: (factor * resolution * Math.sqrt(test.readingsForOneAmount)) / Math.sqrt(12) },
    { from: 'repeatability', sd: (factor * Math.max(stated, scatter(test.amounts, mean))) / Math.sqrt(count) },
    { from: 'factor', sd: value * factorRelativeSd },
    { from: 'sample', sd: value * sampleRelativeSd },
    { from: 'lot', sd: value * lotRelativeSd },
  ];
  shares.sort((one, other) => other.sd - one.sd);
  return { value, sd: Math.hypot(...shares.map(({ sd }) => sd)), shares };
}

/** Standard deviation of one amount among the repeats; 0 for a single one, which says nothing about it. */
function scatter(amounts: readonly number[], mean: number): number {
  if (amounts.length < 2) return 0;
  return Math.sqrt(amounts.reduce((sum, amount) => sum + (amount - mean) ** 2, 0) / (amounts.length - 1));
}
