import { meqPerLPerDkh, mgPerLCaCO3PerMeqPerL } from './alkalinity-unit.ts';
import { atomicWeight_g_mol, calciumCarbonate_g_mol, molarMass_g_mol } from './atomic-weights.ts';
import type { Metric } from './metric.ts';

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

const pureNumber: readonly Unit[] = [{ name: '', factor: 1, also: ['/', '1'] }];

const conductivity: readonly Unit[] = [
  { name: 'mS/cm', factor: 1, also: ['dS/m', 'mmho/cm'] },
  { name: 'µS/cm', factor: 0.001, also: ['umho/cm'] },
  { name: 'S/m', factor: 10 },
  { name: 'mS/m', factor: 0.01 },
  { name: 'S/cm', factor: 1000 },
];

/** Mass and moles of one ion in a litre, kept as mg/L. ppm stands for mg/L: common practice, no published source. */
function ion(molarMass: number): readonly Unit[] {
  return [
    { name: 'mg/L', factor: 1, also: ['ppm', 'mg/dm3', 'g/m3'] },
    { name: 'µg/L', factor: 0.001, also: ['ppb'] },
    { name: 'mmol/L', factor: molarMass, also: ['mM'] },
    { name: 'µmol/L', factor: molarMass / 1000, also: ['uM'] },
  ];
}

/** Calcium and magnesium tests also count in hardness, mole for mole. */
function hardnessIon(atomicWeight: number): readonly Unit[] {
  const share = atomicWeight / calciumCarbonate_g_mol;
  return [...ion(atomicWeight), { name: 'mg/L CaCO3', factor: share, also: ['ppm CaCO3'] }];
}

const nitrate_g_mol = molarMass_g_mol({ N: 1, O: 3 });
const phosphate_g_mol = molarMass_g_mol({ P: 1, O: 4 });
const nitrogenAsNitrate = nitrate_g_mol / atomicWeight_g_mol.N;
const phosphorusAsPhosphate = phosphate_g_mol / atomicWeight_g_mol.P;

/** The units that each metric may have; the first is the store's own. */
export const unitTable: Record<Metric, readonly Unit[]> = {
  temperature: [
    { name: '°C', factor: 1, also: ['C', 'Cel', 'degC', 'deg C', 'ºC'] },
    { name: '°F', factor: 5 / 9, shift: -32, also: ['F', 'degF', 'deg F', 'ºF'] },
    { name: 'K', factor: 1, shift: -273.15, also: ['kelvin'] },
  ],
  ph: [{ name: '', factor: 1, also: ['/', '1', 'pH'] }],
  conductivity,
  specific_conductance_25: conductivity,
  salinity: [
    // "PSU" and "ppt" stand for the number itself: common practice; PSS-78 has no unit.
    { name: '', factor: 1, also: ['/', '1', 'PSU', 'PSS', 'PSS-78', 'ppt', '‰'] },
    // Absolute Salinity of reference composition. @source TEOS-10 manual (IOC 2010), 2.4
    { name: 'g/kg', factor: 35 / 35.16504 },
  ],
  specific_gravity: [{ name: '', factor: 1, also: ['/', '1', 'sg'] }],
  alkalinity: [
    { name: 'dKH', factor: 1, also: ['°dKH', '°KH', 'KH'] },
    { name: 'meq/L', factor: 1 / meqPerLPerDkh, also: ['mval/L', 'mEq/L'] },
    { name: 'mg/L CaCO3', factor: 1 / mgPerLCaCO3PerMeqPerL / meqPerLPerDkh, also: ['ppm CaCO3'] },
    // Of charge: one mole of HCO3- is one equivalent.
    { name: 'µeq/L', factor: 1 / meqPerLPerDkh / 1000, also: ['µmol/L'] },
  ],
  calcium: hardnessIon(atomicWeight_g_mol.Ca),
  magnesium: hardnessIon(atomicWeight_g_mol.Mg),
  nitrate: [
    ...ion(nitrate_g_mol),
    { name: 'mg/L N', factor: nitrogenAsNitrate, also: ['mg/L NO3-N', 'ppm N', 'ppm NO3-N'] },
  ],
  phosphate: [
    ...ion(phosphate_g_mol),
    { name: 'mg/L P', factor: phosphorusAsPhosphate, also: ['mg/L PO4-P', 'ppm P', 'ppm PO4-P'] },
    { name: 'µg/L P', factor: phosphorusAsPhosphate / 1000, also: ['µg/L PO4-P', 'ppb P', 'ppb PO4-P'] },
  ],
  potassium: ion(atomicWeight_g_mol.K),
  iodide: [
    { name: 'µg/L', factor: 1, also: ['ppb'] },
    { name: 'mg/L', factor: 1000, also: ['ppm'] },
    { name: 'µmol/L', factor: atomicWeight_g_mol.I, also: ['uM'] },
    { name: 'nmol/L', factor: atomicWeight_g_mol.I / 1000, also: ['nM'] },
  ],
  orp: [
    { name: 'mV', factor: 1 },
    { name: 'V', factor: 1000 },
  ],
  level: [
    { name: 'mm', factor: 1 },
    { name: 'cm', factor: 10 },
    { name: 'm', factor: 1000 },
    { name: 'in', factor: 25.4, also: ['inch'] },
  ],
  par: [
    {
      name: 'µmol/m²/s',
      factor: 1,
      also: ['µmol/(m²s)', 'µmol/(m²·s)', 'µmol/s/m²', 'µmol m-2 s-1', 'µmol·m-2·s-1', 'µmol m⁻² s⁻¹'],
    },
    { name: 'mol/m²/s', factor: 1e6 },
  ],
  pco2: [
    { name: 'µatm', factor: 1 },
    { name: 'atm', factor: 1e6 },
    // 1 atm = 101 325 Pa exactly.
    { name: 'Pa', factor: 1 / 0.101325 },
  ],
  aragonite_saturation: pureNumber,
};
