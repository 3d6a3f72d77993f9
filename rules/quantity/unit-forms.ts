import { calciumCarbonate_g_mol } from './atomic-weights.ts';

/**
 * One unit of a metric: store value = (number + shift) * factor. Spellings are compared as unit.ts writes them plainly:
 * the micro sign as u, superscripts as digits, any case.
 */
export type Unit = {
  /** As it is shown. */
  name: string;
  factor: number;
  /** Added before the factor; only temperatures have one. */
  shift?: number;
  /** Other spellings, SenML's (RFC 8428, RFC 8798) among them. */
  also?: readonly string[];
};

/** Mass and moles of one ion in a litre, kept as mg/L. ppm stands for mg/L: common practice, no published source. */
export function ion(molarMass: number): readonly Unit[] {
  return [
    { name: 'mg/L', factor: 1, also: ['ppm', 'mg/dm3', 'g/m3'] },
    { name: 'µg/L', factor: 0.001, also: ['ppb'] },
    { name: 'mmol/L', factor: molarMass, also: ['mM'] },
    { name: 'µmol/L', factor: molarMass / 1000, also: ['uM'] },
  ];
}

/** The same of one that is kept as µg/L. */
export function traceIon(molarMass: number): readonly Unit[] {
  return [
    { name: 'µg/L', factor: 1, also: ['ppb'] },
    { name: 'mg/L', factor: 1000, also: ['ppm'] },
    { name: 'µmol/L', factor: molarMass, also: ['uM'] },
    { name: 'nmol/L', factor: molarMass / 1000, also: ['nM'] },
  ];
}

/** Calcium and magnesium tests also count in hardness, mole for mole. */
export function hardnessIon(atomicWeight: number): readonly Unit[] {
  const share = atomicWeight / calciumCarbonate_g_mol;
  return [...ion(atomicWeight), { name: 'mg/L CaCO3', factor: share, also: ['ppm CaCO3'] }];
}
