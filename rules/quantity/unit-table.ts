import { ofEachAnalyte } from './analyte-table.ts';
import type { Metric } from './metric.ts';
import type { Unit } from './unit-forms.ts';

export type { Unit };

/** A number without a unit. Exact. */
const pureNumber: readonly Unit[] = [{ name: '', factor: 1, also: ['/', '1'] }];

/** Exact: decimal multiples of S/m; mho is another name of S. */
const conductivity: readonly Unit[] = [
  { name: 'mS/cm', factor: 1, also: ['dS/m', 'mmho/cm'] },
  { name: 'µS/cm', factor: 0.001, also: ['umho/cm'] },
  { name: 'S/m', factor: 10 },
  { name: 'mS/m', factor: 0.01 },
  { name: 'S/cm', factor: 1000 },
];

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
  ...ofEachAnalyte(({ units }) => units),
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
  // Of dry air, by moles.
  room_co2: [
    { name: 'ppm', factor: 1, also: ['µmol/mol', 'ppmv'] },
    { name: '%', factor: 10_000 },
  ],
};
