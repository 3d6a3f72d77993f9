/**
 * Standard atomic weights, g/mol. Where the standard is an interval, the conventional value (those from memory; each lies
 * in the published interval). @source IUPAC CIAAW 2021; checked against fixtures/reference/atomic-weights.csv
 */
export const atomicWeight_g_mol = {
  H: 1.008,
  C: 12.011,
  N: 14.007,
  O: 15.999,
  Na: 22.98976928,
  Mg: 24.305,
  P: 30.973761998,
  S: 32.06,
  Cl: 35.45,
  K: 39.0983,
  Ca: 40.078,
  I: 126.90447,
} as const;

export type Element = keyof typeof atomicWeight_g_mol;

/**
 * Molar mass of a compound from how many atoms of each element it holds.
 *
 * @param atoms  such as {Ca: 1, C: 1, O: 3}
 * @returns molar mass, g/mol; 100.086 for that one
 */
export function molarMass_g_mol(atoms: Partial<Record<Element, number>>): number {
  let mass = 0;
  for (const element of Object.keys(atoms) as Element[]) mass += (atoms[element] ?? 0) * atomicWeight_g_mol[element];
  return mass;
}

/** Calcium carbonate, g/mol: what corals lay down, and what hardness is counted in. */
export const calciumCarbonate_g_mol = molarMass_g_mol({ Ca: 1, C: 1, O: 3 });

/** Calcium oxide, g/mol: the German degree counts in it. */
export const calciumOxide_g_mol = molarMass_g_mol({ Ca: 1, O: 1 });
