/** A straight line through the points past the equivalence point: where it meets zero is the equivalence. */
export type GranLine = {
  /** Acid at equivalence, g. */
  equivalence_g: number;
  /** Reading less pH, so that pH = reading - offset, by the strength of the acid. */
  offset: number;
};

/**
 * Gran's plot of an acid titration: (m0 + m)·10^-reading grows in a straight line with the acid once all alkalinity is used.
 * In seawater sulfate and fluoride bend the line, so this is a start for a full fit and no answer by itself.
 *
 * @param points       acid added so far (g) and the reading on a pH-like scale with any offset, at least two
 * @param sample_g     mass of the sample, g
 * @param acid_mol_kg  strength of the acid
 * @returns the line, or undefined when the points do not rise
 * @source Gran 1952, Analyst 77:661; Dickson, Sabine & Christian 2007, SOP 3
 */
export function granLine(
  points: readonly { acid_g: number; reading: number }[],
  sample_g: number,
  acid_mol_kg: number,
): GranLine | undefined {
  const count = points.length;
  // Taken relative to one reading, so that millivolts turned into pH units do not overflow the power.
  const reference = points[0]?.reading ?? 0;
  const function_g = points.map(({ acid_g, reading }) => (sample_g + acid_g) * 10 ** (reference - reading));
  const meanAcid = points.reduce((sum, { acid_g }) => sum + acid_g, 0) / count;
  const meanFunction = function_g.reduce((sum, each) => sum + each, 0) / count;
  const spread = points.reduce((sum, { acid_g }) => sum + (acid_g - meanAcid) ** 2, 0);
  const slope = points.reduce((sum, { acid_g }, index) => sum + (acid_g - meanAcid) * function_g[index]!, 0) / spread;
  if (!(slope > 0) || !Number.isFinite(slope)) return undefined;
  const equivalence_g = meanAcid - meanFunction / slope;
  return { equivalence_g, offset: reference - Math.log10(slope / acid_mol_kg) };
}

/**
 * Alkalinity by Gran's line alone, through the points of an open cell that lie between pH 3 and 3.7 by that line.
 *
 * @returns µmol/kg; undefined with fewer than three such points, or points that do not rise
 */
export function granAlkalinity_umol_kg(
  points: readonly { acid_g: number; reading: number }[],
  sample_g: number,
  acid_mol_kg: number,
): number | undefined {
  let line = granLine(points, sample_g, acid_mol_kg);
  for (let round = 0; line && round < 4; round += 1) {
    const { offset } = line;
    const acidic = points.filter(({ reading }) => reading - offset <= 3.7 && reading - offset >= 2.8);
    if (acidic.length < 3) return undefined;
    line = granLine(acidic, sample_g, acid_mol_kg);
  }
  return line && (1e6 * line.equivalence_g * acid_mol_kg) / sample_g;
}
