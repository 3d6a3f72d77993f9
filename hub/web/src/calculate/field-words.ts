/** Ends of a column's name that are its unit, the longest first, as a person reads them. */
const units: readonly (readonly [string, string])[] = [
  ['_percent_per_C', '% per °C'],
  ['_per_C', 'per °C'],
  ['_per_mmol_L', 'per mmol/L'],
  ['_umol_kg', 'µmol/kg'],
  ['_mol_kg', 'mol/kg'],
  ['_mol_L', 'mol/L'],
  ['_mS_cm', 'mS/cm'],
  ['_mg_L', 'mg/L'],
  ['_l_day', 'L a day'],
  ['_per_h', 'per hour'],
  ['_dkh', 'dKH'],
  ['_dKH', 'dKH'],
  ['_ppm', 'ppm'],
  ['_mL', 'mL'],
  ['_cm', 'cm'],
  ['_C', '°C'],
  ['_l', 'L'],
  ['_g', 'g'],
];

/** `total_alkalinity_umol_kg` as "Total alkalinity, µmol/kg"; the name is that of the column of a table. */
export function fieldWords(name: string): string {
  const unit = units.find(([end]) => name.endsWith(end) && name.length > end.length);
  const plain = (unit === undefined ? name : name.slice(0, -unit[0].length))
    .replaceAll('_', ' ')
    .replace(/\bph\b/g, 'pH')
    .replace(/\bsd\b/g, 'standard deviation')
    .replace(/\bdic\b/g, 'DIC')
    .replace(/\bco2\b/g, 'CO2')
    .replace(/\bedta\b/g, 'EDTA')
    .replace(/\bnbs\b/g, '(NBS)')
    .replace(/\bpH total\b/g, 'pH (total)');
  const first = /^(pH|DIC|EDTA|CO2)/.test(plain) ? plain : plain.charAt(0).toUpperCase() + plain.slice(1);
  return unit === undefined ? first : `${first}, ${unit[1]}`;
}
